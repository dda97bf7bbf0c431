// Files that commands write where the user says must not take the place of anything of the shop or of another
// kind. By our own contract, no source.
#include <catch2/catch.hpp>
#include <filesystem>
#include <set>

#include "support/in_process.hpp"
#include "support/program.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using test::run_in_process;
namespace fs = std::filesystem;

namespace {

const std::vector<std::string> kDials{"--power", "60", "--speed", "40", "--dpi", "300"};

void adopt(const test::SampleShop& sample) {
  std::vector<std::string> words{"table", "adopt", "amber-jug", "--by", "Ann", "--reason", "a test"};
  words.insert(words.end(), kDials.begin(), kDials.end());
  test::write_text(sample.folder() / "in.csv", "swatch,frost,chipping\nA1,4,0\nA2,3,0\nB5,5,0\nC7,5,0\n");
  REQUIRE(run_in_process(sample,
                         {"grade", "1", "--from", (sample.folder() / "in.csv").string(), "--grader", "Ann"})
              .status == 0);
  REQUIRE(run_in_process(sample, words).status == 0);
}

/// Every command that writes where the user says, each with FILE as the last word.
std::vector<std::vector<std::string>> commands_with(const fs::path& file) {
  return {{"table", "card", file.string()},
          {"table", "export", "--output", file.string()},
          {"table", "export", "--form", "json", "--output", file.string()},
          {"table", "export", "--form", "markdown", "--output", file.string()},
          {"fit", "amber-jug", "--report", file.string()},
          {"job", "amber-jug", "--art", "60x40", "--card", file.string()},
          {"grade", "1", "--form", file.string()}};
}

}  // namespace

TEST_CASE("no command writes over the shop's own files, or among them", "[program][output]") {
  const test::SampleShop sample;
  adopt(sample);
  const fs::path folder = sample.folder();
  fs::create_directory(folder / "elsewhere");
  fs::create_symlink("../grids/shop.toml", folder / "elsewhere" / "link.pdf");
  fs::create_directory_symlink("../results", folder / "elsewhere" / "linked");
  const test::SampleShop other;
  std::set<fs::path> targets{folder / ".lock",
                             folder / "results" / "new.csv",
                             folder / "grids" / "new.pdf",
                             folder / "grids" / "0001-amber-jug" / "new.pdf",
                             folder / "elsewhere" / ".." / "results" / "pieces.csv",
                             folder / "elsewhere" / "link.pdf",
                             folder / "elsewhere" / "linked" / "settings-table.csv",
                             other.folder() / "grids" / "shop.toml"};
  for (const auto& entry : fs::recursive_directory_iterator(folder / "grids")) targets.insert(entry.path());
  for (const auto& entry : fs::recursive_directory_iterator(folder / "results")) targets.insert(entry.path());
  for (const fs::path& target : targets) {
    const bool was_there = fs::exists(target);
    const auto contents = [&] { return fs::is_directory(target) ? "" : test::read_text(target); };
    const std::string before = contents();
    for (const std::vector<std::string>& command : commands_with(target)) {
      CAPTURE(command);
      const test::Outcome ran = run_in_process(sample, command);
      CHECK(ran.status == 2);
      CHECK_THAT(ran.err, Contains(target.string()) && Contains("among the shop's own files") ||
                              Contains("one of the shop's own files"));
      CHECK_THAT(ran.err, Contains("name another file"));
      CHECK(fs::exists(target) == was_there);
      CHECK(contents() == before);
    }
  }
}

TEST_CASE("an output replaces only a file of its own kind", "[program][output]") {
  const test::SampleShop sample;
  adopt(sample);
  const fs::path folder = sample.folder();
  const std::string letter = "Dear customer,\n";
  for (const std::vector<std::string>& command : commands_with(folder / "letter.txt")) {
    CAPTURE(command);
    test::write_text(folder / "letter.txt", letter);
    const test::Outcome ran = run_in_process(sample, command);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Contains("letter.txt: found a file that is") && Contains("move it away"));
    CHECK(test::read_text(folder / "letter.txt") == letter);
  }
  for (const std::vector<std::string>& command : commands_with(folder / "again")) {
    CAPTURE(command);
    fs::remove(folder / "again");
    REQUIRE(run_in_process(sample, command).status <= 1);
    const std::string written = test::read_text(folder / "again");
    const bool is_form = command.front() == "grade";
    CHECK(run_in_process(sample, command).status == (is_form ? 2 : 0));
    CHECK(test::read_text(folder / "again") == written);
    if (is_form) continue;
    test::write_text(folder / "again", "");  // nothing to lose
    CHECK(run_in_process(sample, command).status == 0);
  }
}

TEST_CASE("an export that a spreadsheet saved is replaced", "[program][output]") {
  const test::SampleShop sample;
  adopt(sample);
  const fs::path file = sample.folder() / "export.csv";
  test::write_text(file, "\xEF\xBB\xBF\"glass\";\"machine\";\"power_pct\";\"speed_pct\"\r\n");
  CHECK(run_in_process(sample, {"table", "export", "--output", file.string()}).status == 0);
  CHECK(test::read_text(file).substr(0, 24) == "glass,machine,power_pct,");
}

TEST_CASE("two commands may write one file at the same moment", "[program][output_file]") {
  const test::SampleShop sample;
  adopt(sample);
  const fs::path file = sample.folder() / "list.csv";
  const std::vector<std::string> words{"table",       "export", "--output",
                                       file.string(), "--shop", sample.option()};
  REQUIRE(test::run_program(words).status == 0);
  const std::string whole = test::read_text(file);
  for (int round = 0; round < 10; ++round) {
    test::Program one(words);
    test::Program other(words);
    for (test::Program* program : {&one, &other}) {
      const test::Outcome outcome = program->finish();
      CAPTURE(round, outcome.err);
      CHECK(outcome.status == 0);
    }
    CHECK(test::read_text(file) == whole);
  }
  for (const fs::directory_entry& entry : fs::directory_iterator(sample.folder())) {
    CHECK(entry.path().extension() != ".tmp");
  }
}
