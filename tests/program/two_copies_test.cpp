// A shop that is kept in two copies under version control: what no copy needs, merges that were not finished,
// and a history that can't be merged by text.
#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "support/in_process.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using nlohmann::json;
using test::read_text;
using test::run_in_process;
using test::write_text;
namespace fs = std::filesystem;

namespace {

const std::string kTime = "2026-11-25T11:14:05Z";

fs::path pieces_of(const test::SampleShop& sample) {
  return sample.folder() / "results" / "pieces.csv";
}
fs::path history_of(const test::SampleShop& sample) {
  return sample.folder() / "results" / "settings-history.csv";
}
fs::path table_of(const test::SampleShop& sample) {
  return sample.folder() / "results" / "settings-table.csv";
}

void adopt(const test::SampleShop& sample, const std::string& power) {
  const test::Outcome ran =
      run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--power", power, "--speed", "40",
                              "--dpi", "300", "--reason", "a test"});
  CAPTURE(ran.out, ran.err);
  REQUIRE(ran.status == 0);
}

// As git leaves a file to which two copies added lines.
std::string in_conflict(const std::string& common, const std::string& ours, const std::string& theirs) {
  return common + "<<<<<<< HEAD\n" + ours + "=======\n" + theirs + ">>>>>>> 1a2b3c4 (Log 3 pieces, good)\n";
}

std::string line_of(const std::string& text, std::size_t number) {
  std::size_t start = 0;
  for (std::size_t i = 1; i < number; ++i) start = text.find('\n', start) + 1;
  return text.substr(start, text.find('\n', start) + 1 - start);
}

}  // namespace

TEST_CASE("start keeps the lock and temporary files out of version control", "[program][two_copies]") {
  const test::TemporaryFolder folder;
  const std::string shop = folder.path().string() + "/shop";
  REQUIRE(test::run_program({"start", shop}).status == 0);
  REQUIRE(fs::exists(shop + "/.lock"));
  const std::string ignored = read_text(shop + "/.gitignore");
  CHECK_THAT(ignored, Contains("\n.lock\n") && Contains("\n.*.tmp\n"));
  // The sheets stay in: a copy without those of a planned grid is faulty by check.
  CHECK_THAT(ignored, !Contains("pdf"));
  const std::string other = folder.path().string() + "/other";
  write_text(other + "/.gitignore", "mine\n");
  REQUIRE(test::run_program({"start", other}).status == 0);
  CHECK(read_text(other + "/.gitignore") == "mine\n");
}

TEST_CASE("the marks of an unfinished merge are named, and nothing is added below them",
          "[program][two_copies]") {
  const test::SampleShop sample;
  const std::string common =
      "swatch,frost,chipping,note,grader,graded_at,format\nA1,4,0,,Ann," + kTime + ",1\n";
  SECTION("grades, where git says more of one side") {
    write_text(sample.results(), in_conflict(common, "A2,4,0,,Ann," + kTime + ",1\n||||||| 5d6e7f8\n",
                                             "A3,4,0,,Bo," + kTime + ",1\n"));
    for (const std::vector<std::string>& words :
         {std::vector<std::string>{"check"}, {"fit"}, {"grade", "1", "--withdraw", "--grader", "Ann"}}) {
      const test::Outcome ran = run_in_process(sample, words);
      const std::string said = ran.out + ran.err;
      CAPTURE(said);
      CHECK(ran.status == (words[0] == "check" ? 1 : 2));
      CHECK_THAT(said,
                 Contains("0001-amber-jug.csv:3: found \"<<<<<<< HEAD\", which marks a merge that was not "
                          "finished, expected the lines of one copy, or of both, without marks; keep the "
                          "lines that hold (README, Two copies of a shop) and delete those that begin with "
                          "<<<<<<<, ======= and >>>>>>>"));
      CHECK_THAT(said, !Contains("cell"));
    }
  }
  SECTION("pieces, of which one mark was overlooked") {
    adopt(sample, "60");
    REQUIRE(run_in_process(sample, {"log", "amber-jug", "--good", "--by", "Ann"}).status == 0);
    const std::string merged = read_text(pieces_of(sample)) + ">>>>>>> theirs, good pieces\n";
    for (const std::string& text : {merged, merged.substr(0, merged.size() - 1)}) {
      write_text(pieces_of(sample), text);
      for (const std::vector<std::string>& words :
           {std::vector<std::string>{"log", "amber-jug", "--good", "--by", "Ann"}, {"check", "--repair"}}) {
        const test::Outcome ran = run_in_process(sample, words);
        CAPTURE(ran.out, ran.err);
        CHECK(ran.status != 0);
        CHECK_THAT(ran.out + ran.err, Contains("pieces.csv:3: found \">>>>>>> theirs, good pieces\""));
        CHECK(read_text(pieces_of(sample)) == text);
      }
    }
  }
  SECTION("shop.toml") {
    const fs::path file = shop::shop_file(sample.folder());
    const std::string text = read_text(file);
    write_text(file, in_conflict(text, "# ours\n", "# theirs\n"));
    const test::Outcome ran = run_in_process(sample, {"check"});
    CHECK(ran.status == 1);
    CHECK_THAT(ran.out,
               Contains("shop.toml:" + std::to_string(std::count(text.begin(), text.end(), '\n') + 1) +
                        ": found \"<<<<<<< HEAD\", which marks a merge that was not finished"));
  }
  SECTION("such a line in a cell that is quoted is somebody's text") {
    write_text(sample.results(), common + "A2,4,0,\"as drawn:\n=======\nfaint\",Ann," + kTime + ",1\n");
    CHECK(run_in_process(sample, {"check"}).status == 0);
  }
}

TEST_CASE("a history that two copies adopted into is taken from one of them", "[program][two_copies]") {
  const test::SampleShop sample;
  adopt(sample, "60");
  const std::string common = read_text(history_of(sample));
  adopt(sample, "50");
  const std::string ours = read_text(history_of(sample));
  const std::string our_table = read_text(table_of(sample));
  write_text(history_of(sample), common);
  fs::remove(table_of(sample));
  adopt(sample, "70");
  const std::string theirs = read_text(history_of(sample));
  const std::string row = line_of(ours, 3);
  write_text(history_of(sample), in_conflict(common, row, line_of(theirs, 3)));
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"check"}, {"table"}, {"log", "amber-jug", "--good", "--by", "Ann"}}) {
    const test::Outcome ran = run_in_process(sample, words);
    CAPTURE(ran.out, ran.err);
    CHECK(ran.status == (words[0] == "check" ? 1 : 2));
    CHECK_THAT(ran.out + ran.err,
               Contains("settings-history.csv:3: found \"<<<<<<< HEAD\"") &&
                   Contains("git checkout HEAD -- results/settings-history.csv results/settings-table.csv"));
  }
  // Both rows kept, as would be right in any other file.
  write_text(history_of(sample), common + row + line_of(theirs, 3));
  CHECK_THAT(run_in_process(sample, {"check"}).out,
             Contains("settings-history.csv:4:") && Contains("found a row that was written after line 2"));
  // What that checkout does, and then the other copy's adoption again.
  write_text(history_of(sample), ours);
  write_text(table_of(sample), our_table);
  CHECK(run_in_process(sample, {"check"}).status == 0);
  adopt(sample, "70");
  CHECK(run_in_process(sample, {"check"}).status == 0);
}

TEST_CASE("the remedy for a changed row of the history works to the letter", "[program][two_copies]") {
  const test::SampleShop sample;
  for (const char* power : {"60", "50", "70"}) adopt(sample, power);
  const std::string whole = read_text(history_of(sample));
  std::string changed = whole;
  changed.replace(changed.find(",50,40,"), 7, ",55,40,");
  write_text(history_of(sample), changed);
  const test::Outcome ran = run_in_process(sample, {"check"});
  CHECK(ran.status == 1);
  CHECK_THAT(ran.out,
             Contains("settings-history.csv:3:") &&
                 Contains("put the file back from a copy; without one, delete this line and all below it, "
                          "delete settings-table.csv too, give frostcal check --repair, and adopt again "
                          "what those lines had adopted"));
  write_text(history_of(sample), line_of(whole, 1) + line_of(whole, 2));
  fs::remove(table_of(sample));
  CHECK(run_in_process(sample, {"check", "--repair"}).status == 0);
  CHECK(json::parse(run_in_process(sample, {"table", "--json"}).out).at("rows").at(0).at("power_pct") == 60);
  adopt(sample, "70");
  CHECK(run_in_process(sample, {"check"}).status == 0);
  // The first row of all.
  write_text(history_of(sample), line_of(whole, 1));
  fs::remove(table_of(sample));
  CHECK(run_in_process(sample, {"check", "--repair"}).status == 0);
  adopt(sample, "70");
  CHECK(run_in_process(sample, {"check"}).status == 0);
}
