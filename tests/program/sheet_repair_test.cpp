// `check --repair` draws again what can be drawn again, and nothing else.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <map>

#include "support/program.hpp"
#include "support/temporary_folder.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
namespace fs = std::filesystem;

namespace {

void write(const fs::path& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

// The demo shop's grids with all their sheets, ungraded; several of them share bottles.
struct UngradedDemo {
  UngradedDemo() {
    fs::copy(fs::path(FROSTCAL_SOURCE_DIR) / "grids", shop() / "grids", fs::copy_options::recursive);
    for (const fs::directory_entry& entry : fs::directory_iterator(shop() / "grids")) {
      const std::string id = entry.path().filename().string();
      if (!fs::exists(entry.path() / "grid.toml")) continue;
      REQUIRE(run({"sheet", id}).status == 0);
      for (const char* name : {"burn.pdf", "run.pdf"})
        sheets[entry.path() / name] = test::read_text(entry.path() / name);
    }
    REQUIRE(sheets.size() == 22);
  }
  test::Outcome run(std::vector<std::string> words) const {
    words.insert(words.end(), {"--shop", shop().string()});
    return test::run_program(words);
  }
  fs::path shop() const { return folder.path(); }

  test::TemporaryFolder folder;
  std::map<fs::path, std::string> sheets;
};

}  // namespace

TEST_CASE("missing and cut sheets are drawn again as they were", "[program][check][sheet_repair]") {
  const UngradedDemo demo;
  CHECK(demo.run({"check"}).status == 0);
  std::size_t number = 0;
  for (const auto& [path, bytes] : demo.sheets) {
    switch (number++ % 3) {
      case 0:
        fs::remove(path);
        break;
      case 1:
        write(path, bytes.substr(0, bytes.size() / 2));
        break;
      default:
        write(path, "");
    }
  }
  const test::Outcome before = demo.run({"check"});
  CHECK(before.status == 1);
  CHECK_THAT(before.out,
             Contains("found no such file, expected the grid's sheet; frostcal check --repair --shop ") &&
                 Contains(" draws it again") &&
                 Contains("found a PDF that was cut, expected the whole sheet") && Contains("22 faults."));
  const test::Outcome repaired = demo.run({"check", "--repair"});
  CHECK(repaired.status == 0);
  CHECK_THAT(repaired.out, Contains("0007-amber-jug/burn.pdf: drawn again"));
  for (const auto& [path, bytes] : demo.sheets) {
    INFO(path);
    CHECK(test::read_text(path) == bytes);
  }
  CHECK(demo.run({"check"}).status == 0);
}

TEST_CASE("what is no sheet of ours, or can't be drawn without a guess, is left alone",
          "[program][check][sheet_repair]") {
  const UngradedDemo demo;
  const fs::path folder = demo.shop() / "grids" / "0007-amber-jug";
  SECTION("a person's own file") {
    write(folder / "burn.pdf", "burn this at 60 %\n");
    const test::Outcome repaired = demo.run({"check", "--repair"});
    CHECK(repaired.status == 1);
    CHECK_THAT(repaired.out, Contains("found something that is no PDF") && Contains("move it away"));
    CHECK(test::read_text(folder / "burn.pdf") == "burn this at 60 %\n");
  }
  SECTION("swatches that were changed since") {
    fs::remove(folder / "run.pdf");
    std::string swatches = test::read_text(folder / "swatches.csv");
    swatches.replace(swatches.rfind("design"), 6, "repeat");
    write(folder / "swatches.csv", swatches);
    CHECK(demo.run({"check", "--repair"}).status == 1);
    CHECK_FALSE(fs::exists(folder / "run.pdf"));
    CHECK(test::read_text(folder / "swatches.csv") == swatches);
  }
  SECTION("swatches of an earlier grid on the same bottles are lost") {
    fs::remove(folder / "run.pdf");
    fs::remove(demo.shop() / "grids" / "0004-amber-jug" / "swatches.csv");
    const test::Outcome repaired = demo.run({"check", "--repair"});
    CHECK(repaired.status == 1);
    CHECK_THAT(repaired.out, Contains("0007-amber-jug/run.pdf: found no such file"));
    CHECK_FALSE(fs::exists(folder / "run.pdf"));
  }
  SECTION("a graded grid has no more use for its sheets") {
    fs::create_directory(demo.shop() / "results");
    fs::copy(fs::path(FROSTCAL_SOURCE_DIR) / "results" / "0007-amber-jug.csv", demo.shop() / "results");
    fs::remove(folder / "run.pdf");
    CHECK(demo.run({"check", "--repair"}).status == 0);
    CHECK_FALSE(fs::exists(folder / "run.pdf"));
  }
}

TEST_CASE("a sheet is drawn again with the marks that the earlier grades chose",
          "[program][check][sheet_repair]") {
  const UngradedDemo demo;
  fs::create_directory(demo.shop() / "results");
  for (const char* graded : {"0004-amber-jug.csv", "0005-amber-jug.csv", "0006-amber-jug.csv"})
    fs::copy(fs::path(FROSTCAL_SOURCE_DIR) / "results" / graded, demo.shop() / "results");
  const fs::path burn = demo.shop() / "grids" / "0007-amber-jug" / "burn.pdf";
  const std::string without_grades = test::read_text(burn);
  REQUIRE(demo.run({"sheet", "7"}).status == 0);
  const std::string drawn = test::read_text(burn);
  REQUIRE(drawn != without_grades);
  fs::remove(burn);
  CHECK(demo.run({"check", "--repair"}).status == 0);
  CHECK(test::read_text(burn) == drawn);
}
