// What people and their spreadsheets hand in: each wrong file with its message and its exit status.
#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <regex>

#include "grades/grade_file.hpp"
#include "shop/shop_file.hpp"
#include "support/in_process.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using test::run_in_process;
using test::without;
using test::write_text;
namespace fs = std::filesystem;

TEST_CASE("wrong grade files are refused whole", "[program][bad_input]") {
  const test::SampleShop sample;
  const fs::path file = sample.folder() / "in.csv";
  const std::string header = "swatch,frost,chipping\n";
  const auto [bytes, message] = GENERATE_REF(table<std::string, std::string>({
      {"", "in.csv: found an empty file, expected a header row with the columns swatch, frost, chipping\n"},
      {header, "in.csv: found no grades, expected a row with frost and chipping for each graded swatch\n"},
      {header + "A1,7,0\n", "in.csv:2:4: frost: found \"7\", expected a whole number from 0 to 5\n"},
      {header + "A1,four,0\n",
       "in.csv:2:4: frost: found \"four\", expected a whole number from 0 to 5; write a number in digits\n"},
      {header + "A1,4,0\nA13,4,0\n",
       "in.csv:3:1: swatch: found \"A13\", expected a swatch of this grid (A1 to J12); did you mean A1?\n"},
      {header + "A1,4,0\nA1,4,0\n",
       "in.csv:3:1: swatch: found \"A1\" a second time (first on line 2), expected each swatch once; remove "
       "one of "
       "the two rows\n"},
      {header + "A1,4," + std::string(1, '\0') + "\n",
       "in.csv:2:6: found a NUL byte, expected plain text; the file is damaged or not text; restore it from "
       "a "
       "copy\n"},
      {header + "A1,4," + std::string(1000000, '1') + "\n",
       "in.csv:2: found a line of 1000005 bytes, expected at most 65536 bytes in a line; check that this is "
       "the "
       "right file\n"},
      {"swatch,frost,chipping,note\nA1,4,0,gr\xFCn\n",
       "in.csv:2:10: found the byte 0xFC that is not UTF-8, expected UTF-8 text; save the file again with "
       "the "
       "character set UTF-8 (Unicode)\n"},
      {header + "A1,nan,0\n",
       "in.csv:2:4: frost: found \"nan\", expected a whole number from 0 to 5; write a finite number\n"},
  }));
  write_text(file, bytes);
  const test::Outcome ran =
      run_in_process(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"});
  CHECK(ran.status == 2);
  CHECK(ran.out == "");
  CHECK(without(ran.err, sample.option() + "/") == message);
  CHECK_FALSE(fs::exists(sample.results()));
}

TEST_CASE("files that are none are refused", "[program][bad_input]") {
  const test::SampleShop sample;
  const fs::path file = sample.folder() / "in.csv";
  write_text(file, "");
  fs::resize_file(file, 100U * 1024U * 1024U);
  test::Outcome ran = run_in_process(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("found a file of 100 MiB, expected at most 32 MiB"));
  ran = run_in_process(sample, {"grade", "1", "--from", sample.folder().string(), "--grader", "Ann"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("found a folder, expected a plain file"));
  ran = run_in_process(sample,
                       {"grade", "1", "--from", (sample.folder() / "none.csv").string(), "--grader", "Ann"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("none.csv: cannot open for reading: No such file or directory"));
  ran = run_in_process(sample, {"grade", "2", "--from", file.string(), "--grader", "Ann"});
  CHECK(ran.status == 2);
  write_text(file, "swatch,frost,chipping\nA1,4,0\n");
  CHECK(run_in_process(sample, {"grade", "1", "--from", file.string()}).status == 2);
  ran = run_in_process(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"});
  CHECK(ran.status == 0);
  CHECK(ran.out == sample.grid().id + ": recorded 1 grade; 1 of 120 graded by Ann.\n");
}

TEST_CASE("times that a spreadsheet made dates of its own of are one fault for each file and column",
          "[program][bad_input]") {
  const test::SampleShop sample;
  const std::string remedy =
      ", expected a time such as 2026-11-25T11:14:05Z; a spreadsheet makes such dates: put the file back "
      "from a copy "
      "and have the column formatted as text before it is saved again; without a copy, give the column a "
      "date format "
      "that shows 2026-11-25T11:14:05Z and save it so";
  std::string grades =
      "swatch,frost,chipping,note,grader,graded_at,format\nA1,4,0,,Ann,2026-11-25T11:14:05Z,1\n";
  for (int i = 2; i <= 12; ++i) grades += "A" + std::to_string(i) + ",4,0,,Ann,25.11.2026 11:14:05,1\n";
  write_text(sample.results(), grades);
  write_text(sample.folder() / "results" / "cured-faults.csv",
             "machine,cure,since,by,recorded_at,format\nbench,lens,2/10/2026 0:00,Ann,2/10/2026 9:03,1\n"
             "bench,lens,2/11/2026 0:00,Ann,2/11/2026 9:03,1\n");
  for (const std::vector<std::string>& words : {std::vector<std::string>{"check"}, {"fit"}}) {
    const test::Outcome ran = run_in_process(sample, words);
    const std::string said = ran.out + ran.err;
    CAPTURE(said);
    CHECK(ran.status == (words[0] == "check" ? 1 : 2));
    CHECK_THAT(
        said, Contains("0001-amber-jug.csv:3:13: graded_at: found \"25.11.2026 11:14:05\" (and 10 later rows "
                       "like it)" +
                       remedy + '\n'));
    if (words[0] == "fit") continue;
    CHECK_THAT(said,
               Contains("cured-faults.csv:2:12: since: found \"2/10/2026 0:00\" (and 1 later row like it)" +
                        remedy) &&
                   Contains("cured-faults.csv:2:31: recorded_at: found \"2/10/2026 9:03\" (and 1 later row "
                            "like it)" +
                            remedy) &&
                   Contains("3 faults"));
  }
  // A history's rows are not said to be changed as well.
  fs::remove(sample.results());
  fs::remove(sample.folder() / "results" / "cured-faults.csv");
  for (const char* power : {"60", "50", "70"}) {
    REQUIRE(run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--power", power, "--speed",
                                    "40", "--dpi", "300", "--reason", "a test"})
                .status == 0);
  }
  const fs::path history = sample.folder() / "results" / "settings-history.csv";
  write_text(history, std::regex_replace(test::read_text(history),
                                         std::regex("(\\d+)-(\\d+)-(\\d+)T([0-9:]+)Z"), "$3.$2.$1 $4"));
  const test::Outcome ran = run_in_process(sample, {"check"});
  CHECK_THAT(ran.out, Contains("settings-history.csv:2:") && Contains("adopted_at: found") &&
                          Contains("(and 2 later rows like it)" + remedy) && Contains(" 1 fault."));
  // Handed in, a day would do.
  const fs::path file = sample.folder() / "in.csv";
  write_text(file, "swatch,frost,chipping,graded_at\nA1,4,0,25.11.2026\nA2,4,0,26.11.2026\nA3,4,0,today\n");
  const test::Outcome import =
      run_in_process(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"});
  CHECK(import.status == 2);
  CHECK_THAT(import.err,
             Contains("in.csv:2:8: graded_at: found \"25.11.2026\" (and 1 later row like it), expected a "
                      "day such as 2026-11-25 or a time") &&
                 Contains("in.csv:4:8: graded_at: found \"today\", expected a day such as"));
}

TEST_CASE("a name's blanks are dropped, and a name of blanks is none", "[program][bad_input]") {
  const test::SampleShop sample;
  const fs::path file = sample.folder() / "g.csv";
  write_text(file, "swatch,frost,chipping\nA1,4,0\n");
  test::Outcome ran = run_in_process(sample, {"grade", "1", "--from", file.string(), "--grader", "  "});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("--grader: found an empty name, expected who grades"));
  ran = run_in_process(sample, {"grade", "1", "--from", file.string(), "--grader", " Ann "});
  CHECK_THAT(ran.out, Contains("1 of 120 graded by Ann.\n"));
  ran = run_in_process(sample, {"table", "adopt", "amber-jug", "--by", " "});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("--by is missing"));
}

TEST_CASE("check names the faults of a shop, each with its file", "[program][bad_input]") {
  const test::SampleShop sample;
  const fs::path folder = sample.folder() / "grids" / sample.grid().id;
  const std::string time = "2026-11-25T11:14:05Z";
  CHECK(run_in_process(sample, {"check"}).status == 0);
  SECTION("swatches.csv is gone") {
    fs::remove(folder / "swatches.csv");
    const test::Outcome ran = run_in_process(sample, {"check"});
    CHECK(ran.status == 1);
    CHECK_THAT(ran.out, Contains("swatches.csv"));
    CHECK(run_in_process(sample, {"grade", "1", "--form", "-"}).status == 2);
  }
  SECTION("grid.toml is gone") {
    fs::remove(folder / "grid.toml");
    CHECK_THAT(run_in_process(sample, {"check"}).out, Contains("no grid.toml") && Contains("plan again"));
  }
  SECTION("swatches.csv was changed") {
    std::string text = test::read_text(folder / "swatches.csv");
    text.replace(text.find("20.00"), 5, "-9.00");
    write_text(folder / "swatches.csv", text);
    CHECK(run_in_process(sample, {"check"}).status == 1);
    CHECK(run_in_process(sample, {"grade", "1", "--form", "-"}).status == 2);
  }
  SECTION("a shop without machines") {
    write_text(sample.folder() / "grids" / "shop.toml", "[shop]\nname = \"x\"\n");
    const test::Outcome ran = run_in_process(sample, {"check"});
    CHECK(ran.status == 1);
    CHECK_THAT(ran.out, Contains("found no machine"));
    CHECK(run_in_process(sample, {"grade", "1", "--form", "-"}).status == 2);
  }
  SECTION("what a killed run left is removed, and others' files of such names are not") {
    const fs::path grids = sample.folder() / "grids";
    const fs::path results = sample.folder() / "results";
    const std::vector<fs::path> ours{grids / ".shop.toml.tmp",
                                     grids / ".0007-amber-jug.tmp" / "swatches.csv",
                                     grids / sample.grid().id / ".burn.pdf.tmp",
                                     grids / sample.grid().id / ".grid.toml.tmp",
                                     results / ".settings-table.csv.tmp",
                                     results / ".pieces.csv.tmp"};
    const std::vector<fs::path> others{grids / ".notes.tmp",
                                       grids / "old" / ".burn.pdf.tmp",
                                       grids / sample.grid().id / ".sketch.tmp",
                                       grids / ".photos.tmp" / "1.jpg",
                                       results / ".letters.tmp" / "to-the-glazier.txt",
                                       results / "old" / ".pieces.csv.tmp",
                                       results / ".0001-amber-jug.csv.tmp" / "mine.txt"};
    for (const fs::path& path : ours) write_text(path, "half");
    for (const fs::path& path : others) write_text(path, "mine");
    CHECK_THAT(run_in_process(sample, {"check"}).out, Contains("6 faults."));
    CHECK(run_in_process(sample, {"check", "--repair"}).status == 0);
    for (const fs::path& path : ours) CHECK_FALSE(fs::exists(path));
    for (const fs::path& path : others) CHECK(fs::exists(path));
    CHECK_FALSE(fs::exists(grids / ".0007-amber-jug.tmp"));
  }
  SECTION("a wrong grade, a torn row, a left-over, grades without a grid, a link out") {
    fs::create_directories(sample.folder() / "results");
    write_text(sample.results(),
               "swatch,frost,chipping,note,grader,graded_at\nA1,9,0,,Ann," + time + "\nA2,4,0,,An");
    write_text(sample.folder() / "results" / ".pieces.csv.tmp", "half");
    write_text(sample.folder() / "results" / "0009-lost.csv", "swatch\n");
    fs::create_symlink("/etc/hostname", sample.folder() / "results" / "pieces.csv");
    const test::Outcome before = run_in_process(sample, {"check"});
    CHECK(before.status == 1);
    CHECK_THAT(before.out, Contains(":2:4: frost: found \"9\"") && Contains("cut while it was written") &&
                               Contains(".pieces.csv.tmp: found a temporary file") &&
                               Contains("0009-lost.csv: found grades of a grid that is not there") &&
                               Contains("a link out of the shop folder") && Contains("5 faults."));
    const test::Outcome repaired = run_in_process(sample, {"check", "--repair"});
    CHECK(repaired.status == 1);
    CHECK_THAT(repaired.out, Contains("cut off a torn row, \"A2,4,0,,An\"") && Contains("3 faults."));
    CHECK(test::read_text(sample.results()) ==
          "swatch,frost,chipping,note,grader,graded_at\nA1,9,0,,Ann," + time + "\n");
    CHECK(fs::is_symlink(sample.folder() / "results" / "pieces.csv"));
  }
}

TEST_CASE("check names doubtful values and does not count them as faults", "[program][bad_input]") {
  const test::SampleShop sample;
  std::string text = shop::shop_template();
  text.replace(text.find("panel_mm = 95.0"), 15, "panel_mm = 950 ");
  write_text(shop::shop_file(sample.folder()), text);
  const test::Outcome ran = run_in_process(sample, {"check"});
  CHECK(ran.status == 0);
  CHECK_THAT(ran.out, Contains("vessel.panel_mm: found 950, expected 20 to 500") &&
                          Contains("(doubtful, not a fault)") && Contains("no faults, 1 doubtful value."));
  const auto json = nlohmann::json::parse(run_in_process(sample, {"check", "--json"}).out);
  CHECK(json.at("faults").empty());
  CHECK(json.at("doubtful").at(0).at("field") == "vessel.panel_mm");
}

TEST_CASE("what a design would ignore is refused, and nothing is written", "[program][bad_input]") {
  const test::SampleShop sample;
  const auto refused = [&](std::vector<std::string> words, const std::string& message) {
    words.insert(words.begin(), {"plan", "amber-jug"});
    const test::Outcome ran = run_in_process(sample, words);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Contains(message));
  };
  refused({"--levels", "4x4"}, "--levels is for the design lattice only; add --design lattice");
  refused({"--levels", "4x4", "--design", "spread"},
          "--levels is for the design lattice only, not for spread");
  refused({"--design", "lattice", "--levels", "3x3", "--swatches", "12"},
          "--swatches: found 12, expected 9, the size of the design lattice, which --levels sets");
  refused({"--design", "box-behnken", "--swatches", "12"},
          "the size of the design box-behnken; leave it out");
  CHECK_FALSE(fs::exists(sample.folder() / "grids" / "0002-amber-jug"));
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"--design", "LATTICE", "--levels", "3X3", "--swatches", "9"},
        {"--design", "spread", "--swatches", "9", "--power", "20%:80%", "--size", "8MM"}}) {
    std::vector<std::string> plan{"plan", "amber-jug", "--json"};
    plan.insert(plan.end(), words.begin(), words.end());
    const test::Outcome ran = run_in_process(sample, plan);
    CAPTURE(ran.err);
    REQUIRE(ran.status == 0);
    CHECK(nlohmann::json::parse(ran.out).at("swatches") == 9);
  }
}

TEST_CASE("grades handed in twice and a grader's name in another spelling are noticed",
          "[program][bad_input]") {
  const test::SampleShop sample;
  const fs::path file = sample.folder() / "in.csv";
  const auto hand_in = [&](const std::string& text, const std::string& grader) {
    write_text(file, text);
    return run_in_process(sample, {"grade", "1", "--from", file.string(), "--grader", grader});
  };
  const std::string two = "swatch,frost,chipping\nA1,4,0\nA2,3,1\n";
  const test::Outcome first = hand_in(two, "Ann");
  CHECK(first.status == 0);
  CHECK(first.err.empty());
  CHECK_THAT(first.out, !Contains("before"));
  CHECK_THAT(hand_in(two, "Ann").out,
             Contains("recorded 0 grades; 2 of 120 graded by Ann.\nAll were graded so "
                      "before by the same person: nothing changed.\n"));
  CHECK_THAT(
      hand_in("swatch,frost,chipping\nA1,4,0\nA2,3,0\nA3,1,0\n", "Ann").out,
      Contains("recorded 2 grades; 3 of 120 graded by Ann.\n"
               "1 of them replace earlier grades by the same person; 1 in the file were the same before.\n"));
  CHECK_THAT(hand_in("swatch,frost,chipping,grader\nA4,4,0,Cy\nA5,4,0,\n", "Ann").out,
             Contains("recorded 2 grades; 4 of 120 graded by Ann, 1 of 120 graded by Cy.\n"));
  REQUIRE(
      test::run_program({"grade", "1", "--grader", "Ann", "--again", "--shop", sample.option()}, "A1\n2\nq\n")
          .status == 1);
  CHECK_THAT(hand_in(two, "Ann").out,
             Contains("A later look saw more chipping than the file says at A1, and the "
                      "worse look stays."));
  CHECK_THAT(hand_in("swatch,frost,chipping,graded_at\nA6,4,0,2026-05-01\n", "Ann").err,
             Contains("in.csv:2: graded_at: found 2026-05-01") && Contains("doubtful, but taken"));
  CHECK_THAT(test::read_text(sample.results()), Contains("A6,4,0,,Ann,2026-05-01T00:00:00Z"));
  const test::Outcome near = hand_in(two, "ann");
  CHECK(near.status == 0);
  CHECK_THAT(near.err,
             Contains("Grader \"ann\" is new; there is a grader \"Ann\". For the same person use the "
                      "same name"));
  CHECK_THAT(hand_in(two, "ann").err,
             Contains("Grader \"ann\" has graded in one grid; there is a grader \"Ann\"."));
  CHECK(hand_in(two, "Bartholomew").err.empty());
  // Both spellings at once, in a file with names of its own.
  CHECK_THAT(hand_in("swatch,frost,chipping,grader\nA1,4,0,Ann\nA2,3,1,Anne\n", "Ann").err,
             Contains("Grader \"Ann\" has graded in one grid; there is a grader \"ann\".") &&
                 Contains("Grader \"Anne\" is new; there is a grader \"Ann\"."));
}

TEST_CASE("a grader's near name is taken for meant once it has graded in two grids", "[program][bad_input]") {
  const test::SampleShop sample;
  const fs::path file = sample.folder() / "in.csv";
  write_text(file, "swatch,frost,chipping\nA1,4,0\n");
  for (int grid = 2; grid <= 3; ++grid) {
    REQUIRE(
        run_in_process(sample, {"plan", "amber-jug", "--design", "spread", "--swatches", "6", "--seed", "1"})
            .status == 0);
  }
  const auto warned = [&](const std::string& grid, const std::string& grader) {
    const test::Outcome ran =
        run_in_process(sample, {"grade", grid, "--from", file.string(), "--grader", grader});
    REQUIRE(ran.status == 0);
    return ran.err.find("there is a grader") != std::string::npos;
  };
  CHECK_FALSE(warned("1", "Jon"));
  CHECK_FALSE(warned("2", "Jon"));
  CHECK(warned("1", "Jan"));
  CHECK(warned("1", "Jan"));
  CHECK(warned("2", "Jan"));
  CHECK_FALSE(warned("3", "Jan"));
  CHECK_FALSE(warned("3", "Jon"));  // the older name is never doubted
}

TEST_CASE("a folder that is no shop says how to make one", "[program][bad_input]") {
  const test::SampleShop sample;
  fs::remove(sample.folder() / "grids" / "shop.toml");
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"fit"}, {"plan", "amber-jug"}, {"table"}, {"grade", "1", "--form", "-"}}) {
    const test::Outcome ran = run_in_process(sample, words);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err,
               Contains("grids/shop.toml: found no such file, expected the description of a shop; make a "
                        "shop folder with frostcal start DIR, or name one with --shop DIR"));
  }
}
