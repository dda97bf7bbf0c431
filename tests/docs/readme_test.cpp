// What README.md says is compared with what the program does.
#include <sys/wait.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <regex>
#include <sstream>

#include "cli/command_list.hpp"
#include "design/design_by_name.hpp"
#include "design/grid_file.hpp"
#include "grades/cured_file.hpp"
#include "grades/grade_file.hpp"
#include "grades/piece_file.hpp"
#include "support/sample_grid.hpp"
#include "support/temporary_folder.hpp"
#include "support/text_file.hpp"
#include "table/settings_history.hpp"
#include "table/settings_row.hpp"

using namespace frostcal;
namespace fs = std::filesystem;

namespace {

std::string readme() {
  return test::read_text(fs::path(FROSTCAL_SOURCE_DIR) / "README.md");
}

// The lines between the heading and the next one of the same level.
std::vector<std::string> section(const std::string& heading) {
  std::istringstream text(readme());
  std::vector<std::string> lines;
  bool inside = false;
  for (std::string line; std::getline(text, line);) {
    if (line.rfind("## ", 0) == 0) inside = line == "## " + heading;
    if (inside) lines.push_back(line);
  }
  return lines;
}

// The words between backquotes, in order.
std::vector<std::string> code_words(const std::string& line) {
  std::vector<std::string> words;
  static const std::regex pattern("`([^`]*)`");
  for (std::sregex_iterator it(line.begin(), line.end(), pattern), end; it != end; ++it)
    words.push_back((*it)[1]);
  return words;
}

std::vector<std::string> columns_in_readme(const std::string& file) {
  for (const std::string& line : section("Files")) {
    if (line.rfind("| `" + file + "` |", 0) == 0) {
      std::vector<std::string> words = code_words(line);
      words.erase(words.begin());
      return words;
    }
  }
  return {};
}

std::vector<std::string> header_of(const std::string& csv) {
  std::istringstream line(csv.substr(0, csv.find_first_of("\r\n")));
  std::vector<std::string> columns;
  for (std::string column; std::getline(line, column, ',');) columns.push_back(column);
  return columns;
}

struct Step {
  std::string command;
  int least = 0;  // the exit statuses that the README allows
  int most = 0;
};

// The commands of the fenced `sh` blocks. "# exit status 1" and "# exit status 0 or 1" say what to expect.
std::vector<Step> steps_of(const std::vector<std::string>& lines) {
  std::vector<Step> steps;
  bool inside = false;
  for (const std::string& line : lines) {
    if (line == "```sh" || line == "```") {
      inside = line == "```sh";
    } else if (inside && !line.empty()) {
      Step step{line, 0, 0};
      if (line.find("# exit status 1") != std::string::npos) step.least = step.most = 1;
      if (line.find("# exit status 0 or 1") != std::string::npos) step.most = 1;
      steps.push_back(step);
    }
  }
  return steps;
}

}  // namespace

TEST_CASE("the day in the shop of README.md runs as printed", "[docs]") {
  std::vector<Step> steps = steps_of(section("A day in the shop"));
  REQUIRE(steps.size() > 15);
  const std::vector<Step> mending = steps_of(section("When something went wrong"));
  REQUIRE(mending.size() == 5);
  steps.insert(steps.end(), mending.begin(), mending.end());
  const test::TemporaryFolder folder;
  std::string script = "export PATH='" + fs::path(FROSTCAL_PROGRAM).parent_path().string() + ':' +
                       fs::path(FROSTCAL_SIMULATOR).parent_path().string() + "':\"$PATH\"\ncd '" +
                       folder.path().string() + "'\n";
  for (const Step& step : steps) {
    script += step.command + "\nstatus=$?\nif [ $status -lt " + std::to_string(step.least) +
              " ] || [ $status -gt " + std::to_string(step.most) +
              " ]; then\n  echo \"unexpected exit status $status of the line before:\"\n  cat <<'LINE'\n" +
              step.command + "\nLINE\n  exit 99\nfi\n";
  }
  const fs::path file = folder.path() / "day.sh";
  const fs::path log = folder.path() / "day.log";
  std::ofstream(file) << script;
  const int status =
      std::system(("bash '" + file.string() + "' >'" + log.string() + "' 2>&1 </dev/null").c_str());
  INFO(test::read_text(log));
  CHECK(WEXITSTATUS(status) == 0);
  const fs::path shop = folder.path() / "our-shop";
  for (const char* made : {"grids/0002-amber-jug/burn.pdf", "grids/0002-amber-jug/run.pdf", "amber-jug.pdf",
                           "wall-card.pdf", "bench-card.pdf", "results/settings-table.csv",
                           "results/settings-history.csv", "results/pieces.csv"}) {
    CAPTURE(made);
    CHECK(fs::exists(shop / made));
  }
}

TEST_CASE("README.md lists every command with its summary", "[docs]") {
  std::vector<std::string> expected;
  for (const cli::Command& command : cli::command_list())
    expected.push_back("| `frostcal " + command.name + "` | " + command.summary + " |");
  std::vector<std::string> found;
  for (const std::string& line : section("Commands")) {
    if (line.rfind("| `frostcal ", 0) == 0) found.push_back(line);
  }
  CHECK(found == expected);
}

TEST_CASE("README.md lists every design", "[docs]") {
  std::vector<std::string> expected = design::opening_designs();
  expected.emplace_back("targeted");
  std::vector<std::string> found;
  for (const std::string& line : section("Designs")) {
    if (line.rfind("| `", 0) == 0) found.push_back(code_words(line).front());
  }
  std::sort(expected.begin(), expected.end());
  std::sort(found.begin(), found.end());
  CHECK(found == expected);
}

TEST_CASE("README.md lists the columns that are written", "[docs]") {
  const shop::Shop shop = test::sample_shop("shop");
  CHECK(columns_in_readme("swatches.csv") == header_of(design::swatches_csv_text(test::sample_grid())));
  CHECK(columns_in_readme("results/NNNN-GLASS.csv") ==
        textfile::written_columns(grades::grades_layout(shop, "0001-amber-jug")));
  CHECK(columns_in_readme("pieces.csv") == textfile::written_columns(grades::pieces_layout(shop)));
  CHECK(columns_in_readme("cured-faults.csv") == textfile::written_columns(grades::cured_layout(shop)));
  CHECK(columns_in_readme("settings-table.csv") == table::settings_columns());
  std::vector<std::string> history = textfile::written_columns(table::history_layout(shop));
  const std::size_t shared = table::settings_columns().size();
  REQUIRE(history.size() > shared);
  CHECK(std::vector<std::string>(history.begin(), history.begin() + static_cast<std::ptrdiff_t>(shared)) ==
        table::settings_columns());
  history.erase(history.begin(), history.begin() + static_cast<std::ptrdiff_t>(shared));
  std::vector<std::string> own = columns_in_readme("settings-history.csv");
  REQUIRE_FALSE(own.empty());
  own.erase(own.begin());  // `settings-table.csv`, whose columns come first
  CHECK(own == history);
}

TEST_CASE("the pictures of README.md are there and small", "[docs]") {
  static const std::regex pattern("\\]\\(([^)]*\\.png)\\)");
  const std::string text = readme();
  int pictures = 0;
  for (std::sregex_iterator it(text.begin(), text.end(), pattern), end; it != end; ++it, ++pictures) {
    const fs::path picture = fs::path(FROSTCAL_SOURCE_DIR) / std::string((*it)[1]);
    CAPTURE(picture);
    REQUIRE(fs::exists(picture));
    CHECK(fs::file_size(picture) < 60000);
  }
  CHECK(pictures == 3);
}
