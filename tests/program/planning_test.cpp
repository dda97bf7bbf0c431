// Grid numbers and places when something was lost, or when two terminals plan at once. By our own contract,
// no source.
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <set>

#include "cli/terminal.hpp"
#include "design/grid_file.hpp"
#include "grades/grade_file.hpp"
#include "support/in_process.hpp"
#include "support/program.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"
#include "textfile/time_text.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using test::run_in_process;
namespace fs = std::filesystem;

TEST_CASE("a lost grid's number and grades are not given to another", "[program][plan]") {
  const test::SampleShop sample;
  test::write_text(sample.folder() / "in.csv", "swatch,frost,chipping\nA1,4,0\nA2,3,0\n");
  REQUIRE(run_in_process(sample,
                         {"grade", "1", "--from", (sample.folder() / "in.csv").string(), "--grader", "Ann"})
              .status == 0);
  fs::remove_all(sample.folder() / "grids" / "0001-amber-jug");
  CHECK_THAT(run_in_process(sample, {"plan", "amber-jug"}).out, Contains("Grid 0002-amber-jug"));
  CHECK_THAT(run_in_process(sample, {"check"}).out,
             Contains("grades of a grid that is not there") && !Contains("renamed"));
  fs::rename(sample.folder() / "grids" / "0002-amber-jug", sample.folder() / "grids" / "0001-amber-jgu");
  CHECK_THAT(run_in_process(sample, {"check"}).out, Contains("was its folder renamed to 0001-amber-jgu?"));
}

TEST_CASE("numbers that are no grid's are named, and the next one is not reckoned from them",
          "[program][plan]") {
  const test::SampleShop sample;
  const fs::path results = sample.folder() / "results";
  test::write_text(results / "2147483647-x.csv", "swatch,frost,chipping,note,grader,graded_at\n");
  fs::create_directories(sample.folder() / "grids" / "123456789-amber-jug");
  CHECK_THAT(run_in_process(sample, {"plan", "amber-jug", "--swatches", "6"}).out,
             Contains("Grid 0002-amber-jug"));
  const test::Outcome checked = run_in_process(sample, {"check"});
  CHECK(checked.status == 1);
  CHECK_THAT(checked.out,
             Contains("results/2147483647-x.csv: found a number of 10 digits, expected at most 8") &&
                 Contains("grids/123456789-amber-jug: found a number of 9 digits"));
  test::write_text(results / "99999999-x.csv", "swatch,frost,chipping,note,grader,graded_at\n");
  const test::Outcome plan = run_in_process(sample, {"plan", "amber-jug", "--swatches", "6"});
  CHECK(plan.status == 2);
  CHECK_THAT(plan.err, Contains("number 99999999, the last that there is"));
  CHECK(design::grid_ids(sample.shop()).size() == 2);
}

TEST_CASE("a grid whose machine or vessel the shop no longer has is named by its own file",
          "[program][plan]") {
  const test::SampleShop sample;
  const fs::path file = shop::shop_file(sample.folder());
  const std::string toml = test::read_text(file);
  for (const std::string name : {"bench", "tall-jug"}) {
    std::string renamed = toml;
    for (std::size_t at = 0; (at = renamed.find('"' + name + '"', at)) != std::string::npos;)
      renamed.replace(at, name.size() + 2, "\"new-" + name + '"');
    test::write_text(file, renamed);
    const std::string field = name == "bench" ? "machine" : "vessel";
    for (const std::vector<std::string>& words :
         {std::vector<std::string>{"fit"}, {"plan", "amber-jug"}, {"sheet", "1"}}) {
      const test::Outcome outcome = run_in_process(sample, words);
      INFO(words.front() << ": " << outcome.err);
      CHECK(outcome.status == 2);
      CHECK_THAT(outcome.err, Contains("grids/0001-amber-jug/grid.toml: " + field + ": found \"" + name +
                                       "\", expected a " + field + " of grids/shop.toml: new-" + name));
    }
  }
}

TEST_CASE("a shop's folder whose name is not UTF-8 is worked in, with --json too", "[program][plan]") {
  const test::SampleShop sample;
  const fs::path folder = sample.folder() / "sh\xf6p";
  fs::create_directory(folder);
  fs::copy(sample.folder() / "grids", folder / "grids", fs::copy_options::recursive);
  const test::Outcome plan =
      test::run_program({"plan", "amber-jug", "--swatches", "6", "--json", "--shop", folder.string()});
  CHECK(plan.status == 0);
  const auto parsed = nlohmann::json::parse(plan.out);
  CHECK_THAT(parsed.at("files").at("burn").get<std::string>(),
             Contains("sh\xef\xbf\xbdp/grids/0002-amber-jug/burn.pdf"));
}

TEST_CASE("check names grades that are older than their grid", "[program][plan]") {
  const test::SampleShop sample;  // planned on 2026-11-25 at 11:14:05
  const auto grade = [&](const std::string& at) {
    fs::remove(sample.results());
    grades::append_grades(sample.shop(), sample.grid(), {{"A1", 4, 0, "", "Ann", at}});
    const test::Outcome checked = run_in_process(sample, {"check"});
    CHECK(checked.status == 0);  // doubtful, not a fault: a wrong clock does it too
    return checked.out;
  };
  CHECK_THAT(grade("2026-11-25T11:14:04Z"), Contains("before grid 0001-amber-jug was planned"));
  CHECK_THAT(grade("2026-11-25T11:14:05Z"), !Contains("was planned"));
  CHECK_THAT(grade("2026-11-24T00:00:00Z"), !Contains("was planned"));  // a bare day, west of Greenwich
  CHECK_THAT(grade("2026-11-23T00:00:00Z"), Contains("before grid 0001-amber-jug was planned"));
}

TEST_CASE("check names grades of days that have not come", "[program][plan]") {
  const test::SampleShop sample;
  const auto in_days = [](int days) {
    return textfile::format_utc_time(cli::now_seconds() + days * 24L * 3600).substr(0, 10) + "T00:00:00Z";
  };
  const auto grade = [&](const std::string& at) {
    fs::remove(sample.results());
    grades::append_grades(sample.shop(), sample.grid(),
                          {{"A1", 4, 0, "", "Ann", at}, {"A2", 4, 0, "", "Ann", at}});
    const test::Outcome checked = run_in_process(sample, {"check"});
    CHECK(checked.status == 0);
    return checked.out;
  };
  CHECK_THAT(grade(in_days(1)), !Contains("clock"));  // a bare day, east of Greenwich
  CHECK_THAT(grade(in_days(3)), Contains("0001-amber-jug.csv:2: graded_at: found " + in_days(3)) &&
                                    Contains("but by this computer's clock it is only") &&
                                    Contains("and 1 later row like it"));
}

TEST_CASE("a rotary that holds the neck on the other side now leaves earlier grids as they were burned",
          "[program][plan]") {
  const test::TemporaryFolder folder;
  const auto run = [&](std::vector<std::string> words) {
    words.insert(words.end(), {"--shop", folder.path().string()});
    return test::run_program(words);
  };
  REQUIRE(test::run_program({"start", folder.path().string()}).status == 0);
  const fs::path file = shop::shop_file(folder.path());
  std::vector<design::Grid> earlier;
  for (const std::string number : {"1", "2", "3"}) {
    REQUIRE(run({"plan", "amber-jug", "--swatches", "7"}).status == 0);
    earlier.push_back(design::read_grid(shop::read_shop(folder.path()), "000" + number + "-amber-jug"));
    std::string grades = "swatch,frost,chipping\n";
    for (const design::Swatch& swatch : earlier.back().swatches) grades += swatch.id + ",3,0\n";
    test::write_text(folder.path() / "in.csv", grades);
    REQUIRE(run({"grade", number, "--from", (folder.path() / "in.csv").string(), "--grader", "Ann"}).status ==
            0);
  }
  const fs::path run_sheet = folder.path() / "grids" / "0001-amber-jug" / "run.pdf";
  const std::string as_planned = test::read_text(run_sheet);

  std::string text = test::read_text(file);
  const std::string left = "neck = \"left\"";
  REQUIRE(text.find(left) != std::string::npos);
  test::write_text(file, text.replace(text.find(left), left.size(), "neck = \"right\""));
  CHECK_THAT(run({"check"}).out, Contains("no faults"));
  REQUIRE(run({"sheet", "1"}).status == 0);
  CHECK(test::read_text(run_sheet) == as_planned);

  REQUIRE(run({"plan", "amber-jug", "--swatches", "8"}).status == 0);
  const shop::Shop shop = shop::read_shop(folder.path());
  const design::Grid turned = design::read_grid(shop, "0004-amber-jug");
  CHECK(design::neck_side(earlier[0], shop.machines.front()) == shop::Side::left);
  CHECK(design::neck_side(turned, shop.machines.front()) == shop::Side::right);
  int compared = 0;
  for (const design::Grid& grid : earlier) {
    CHECK(design::overlapping(turned, grid) == nullptr);
    for (const design::Swatch& swatch : grid.swatches) {
      for (const design::Swatch& later : turned.swatches) {
        if (later.bottle != swatch.bottle) continue;
        ++compared;
        CAPTURE(grid.id, swatch.id, later.id);
        // Turned end for end, what was above the middle of the page is below it.
        const bool apart = std::abs(later.x_mm - swatch.x_mm) >= later.width_mm ||
                           std::abs(later.y_mm + swatch.y_mm) >= later.height_mm;
        CHECK(apart);
      }
    }
  }
  CHECK(compared > 0);
  design::Grid mirrored = turned;
  mirrored.swatches = {earlier[0].swatches.front()};
  mirrored.swatches.front().y_mm *= -1;
  CHECK(design::overlapping(mirrored, earlier[0]) != nullptr);
}

TEST_CASE("a number of two grids is an error, and check names it", "[program][plan]") {
  const test::SampleShop sample;
  const fs::path grids = sample.folder() / "grids";
  fs::copy(grids / "0001-amber-jug", grids / "0001-amber-twin", fs::copy_options::recursive);
  const test::Outcome graded = run_in_process(sample, {"grade", "1", "--form", "-"});
  CHECK(graded.status == 2);
  CHECK_THAT(graded.err, Contains("0001-amber-jug, 0001-amber-twin"));
  CHECK(run_in_process(sample, {"grade", "0001-amber-twin", "--form", "-"}).status == 0);
  const test::Outcome checked = run_in_process(sample, {"check"});
  CHECK(checked.status == 1);
  CHECK_THAT(checked.out, Contains("0001-amber-twin: found number 1, which 0001-amber-jug has too"));
}

TEST_CASE("a machine's figures that changed under its grids are told", "[program][plan]") {
  const test::SampleShop sample;
  const auto grade = [&](const std::string& grid) {
    test::write_text(sample.folder() / "in.csv", "swatch,frost,chipping\nA1,4,0\nA2,3,0\n");
    REQUIRE(run_in_process(
                sample, {"grade", grid, "--from", (sample.folder() / "in.csv").string(), "--grader", "Ann"})
                .status == 0);
  };
  REQUIRE(run_in_process(sample, {"plan", "amber-jug"}).status == 0);
  grade("2");
  CHECK_THAT(run_in_process(sample, {"check"}).out, !Contains("full power"));
  std::string text = shop::shop_template();
  const std::string power = "rated_power_w = 60 ";
  text.replace(text.find(power), power.size(), "rated_power_w = 90 ");
  test::write_text(shop::shop_file(sample.folder()), text);
  const test::Outcome checked = run_in_process(sample, {"check"});
  CHECK(checked.status == 0);
  CHECK_THAT(test::unwrapped(checked.out),
             Contains("bench: found full power 60 W, now 90 W") && Contains("0002-amber-jug"));
  const test::Outcome fitted = run_in_process(sample, {"fit", "amber-jug"});
  CHECK_THAT(fitted.err, Contains("bench (full power 60 W, now 90 W, by grid 0002-amber-jug)"));
  // Graded by the new figures: the shop goes on with them.
  REQUIRE(run_in_process(sample, {"plan", "amber-jug"}).status == 0);
  grade("3");
  CHECK_THAT(run_in_process(sample, {"fit", "amber-jug"}).err, !Contains("full power"));
}

TEST_CASE("check doubts a grid that is a copy, and grades that are gone from their file", "[program][plan]") {
  const test::SampleShop sample;
  test::write_text(sample.folder() / "in.csv", "swatch,frost,chipping\nA1,4,0\nA2,3,0\n");
  REQUIRE(run_in_process(sample,
                         {"grade", "1", "--from", (sample.folder() / "in.csv").string(), "--grader", "Ann"})
              .status == 0);
  CHECK_THAT(run_in_process(sample, {"check"}).out, !Contains("doubtful"));
  const fs::path grids = sample.folder() / "grids";
  fs::copy(grids / "0001-amber-jug", grids / "0010-amber-jug", fs::copy_options::recursive);
  CHECK_THAT(test::unwrapped(run_in_process(sample, {"check"}).out),
             Contains("A1 where 0001-amber-jug has a swatch already"));
  fs::rename(grids / "0010-amber-jug", grids / "0010-olive");
  CHECK_THAT(test::unwrapped(run_in_process(sample, {"check"}).out),
             Contains("found \"amber-jug\", expected olive, as the folder says"));
  fs::remove_all(grids / "0010-olive");
  test::write_text(sample.results(), "");
  CHECK_THAT(test::unwrapped(run_in_process(sample, {"check"}).out), Contains("found no grades"));
  CHECK_THAT(run_in_process(sample, {"fit", "amber-jug"}).err, Contains("without any grades are the empty"));
}

TEST_CASE("terminals that plan at once get numbers and places of their own", "[program][plan]") {
  const test::TemporaryFolder folder;
  REQUIRE(test::run_program({"start", folder.path().string() + "/shop"}).status == 0);
  const std::string shop = folder.path().string() + "/shop";
  std::vector<std::unique_ptr<test::Program>> terminals;
  for (const char* seed : {"1", "2", "3", "4"}) {
    terminals.push_back(std::make_unique<test::Program>(
        std::vector<std::string>{"plan", "amber-jug", "--swatches", "6", "--seed", seed, "--shop", shop}));
  }
  std::set<std::string> said;
  for (const auto& terminal : terminals) {
    const test::Outcome planned = terminal->finish();
    CHECK(planned.status == 0);
    said.insert(planned.out.substr(0, planned.out.find(':')));
  }
  CHECK(said == std::set<std::string>{"Grid 0001-amber-jug", "Grid 0002-amber-jug", "Grid 0003-amber-jug",
                                      "Grid 0004-amber-jug"});
  std::set<std::pair<std::string, std::string>> marks;  // of a bottle, engraved beside each swatch
  const shop::Shop read = shop::read_shop(shop);
  for (const std::string& id : design::grid_ids(read)) {
    for (const design::Swatch& swatch : design::read_grid(read, id).swatches) {
      CHECK(marks.emplace(swatch.bottle, swatch.id).second);
    }
  }
  CHECK(marks.size() == 24);
  CHECK(test::run_program({"check", "--shop", shop}).status == 0);
}

TEST_CASE("a burn holds no more recipes than the driver's own fills", "[program][plan]") {
  const test::TemporaryFolder folder;
  const std::string shop = folder.path().string() + "/shop";
  REQUIRE(test::run_program({"start", shop}).status == 0);
  std::string text = test::read_text(shop + "/grids/shop.toml");
  const std::size_t at = text.find("# fills");
  REQUIRE(at != std::string::npos);
  text.erase(at, 2);
  test::write_text(shop + "/grids/shop.toml", text);
  CHECK_THAT(test::run_program({"check", "--shop", shop}).out,
             Contains("fills: found 2 colours") && Contains("recipes_per_burn, 16") && Contains("no faults"));
  const test::Outcome planned = test::run_program({"plan", "amber-jug", "--shop", shop});
  CHECK(planned.err == "");
  REQUIRE(planned.status == 0);
  std::map<int, std::set<std::pair<double, double>>> recipes;
  const shop::Shop read = shop::read_shop(shop);
  for (const design::Swatch& swatch : design::read_grid(read, "0001-amber-jug").swatches) {
    recipes[swatch.burn].emplace(swatch.setting.power_pct, swatch.setting.speed_pct);
  }
  for (const auto& [burn, of_burn] : recipes) CHECK(of_burn.size() <= 2);
  CHECK(test::run_program({"check", "--shop", shop}).status == 0);
}

TEST_CASE("a shop in inches prints on Letter and takes a bare size as inches", "[program][plan]") {
  const test::SampleShop sample;
  std::string text = shop::shop_template();
  const std::string units = "units = \"mm\"";
  text.replace(text.find(units), units.size(), "units = \"in\"");
  test::write_text(shop::shop_file(sample.folder()), text);
  const test::Outcome planned = run_in_process(sample, {"plan", "amber-jug", "--size", "0.25"});
  REQUIRE(planned.status == 0);
  const fs::path folder = sample.folder() / "grids" / "0002-amber-jug";
  const design::Grid grid = design::read_grid(shop::read_shop(sample.folder()), "0002-amber-jug");
  CHECK(grid.swatches.front().width_mm == Approx(6.35));
  CHECK_THAT(test::read_text(folder / "run.pdf"), Contains("/MediaBox [ 0 0 612 792 ]"));
  const test::Outcome refused = run_in_process(sample, {"plan", "amber-jug", "--size", "8"});
  CHECK(refused.status == 2);
  CHECK_THAT(refused.err, Contains("--size: found \"8\", expected a number from 0.08 to 1.6 in"));
  CHECK(run_in_process(sample, {"plan", "amber-jug", "--size", "8mm", "--dry-run"}).status == 0);
}

TEST_CASE("a plan of fewer swatches than asked for says so, in text and JSON", "[program][plan]") {
  const test::SampleShop sample;
  const std::vector<std::string> all{"plan", "amber-jug", "--swatches", "6", "--dry-run"};
  CHECK_THAT(run_in_process(sample, all).out, Contains("6 swatches of") && !Contains("Fewer"));
  // Of one setting that ranges leave a targeted grid takes two swatches.
  std::vector<std::string> one = all;
  one.insert(one.end(), {"--power", "50:50", "--speed", "30:30", "--dpi", "300", "--design", "targeted"});
  CHECK_THAT(run_in_process(sample, one).out, Contains("2 swatches of") && Contains("Fewer") &&
                                                  Contains("than the 6 swatches asked for: no setting"));
  one.push_back("--json");
  const auto json = nlohmann::json::parse(run_in_process(sample, one).out);
  CHECK(json["swatches"] == 2);
  CHECK_THAT(json["fewer_because"].get<std::string>(), Contains("the ranges leave no more settings"));
}
