// Texts that people type and files keep: what no file could hold is refused before anything is written. By
// our own contract, no source.
#include <catch2/catch.hpp>
#include <filesystem>

#include "grades/grade_file.hpp"
#include "grades/piece_file.hpp"
#include "support/in_process.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"
#include "table/settings_history.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using test::run_in_process;
namespace fs = std::filesystem;

namespace {

const std::vector<std::string> kDials{"--power", "50", "--speed", "40", "--dpi", "300"};

std::vector<std::string> with_dials(std::vector<std::string> words) {
  words.insert(words.end(), kDials.begin(), kDials.end());
  return words;
}

void grade_some(const test::SampleShop& sample) {
  test::write_text(sample.folder() / "in.csv", "swatch,frost,chipping\nF7,4,0\nF8,4,0\nF9,3,0\n");
  REQUIRE(run_in_process(sample,
                         {"grade", "1", "--from", (sample.folder() / "in.csv").string(), "--grader", "Ann"})
              .status == 0);
}

struct Wrong {
  std::string text;
  std::string found;
};
const std::vector<Wrong> kWrong{
    {"J\xf6rg", "the byte 0xF6 as character 2, which is not UTF-8, expected text in UTF-8"},
    {"J\xc3\xb6rg\xff", "the byte 0xFF as character 5, which is not UTF-8"},
    {"a\x1b[A", "the control character 0x1B as character 2, expected text without control characters"},
    {std::string(70000, 'x'), "70000 characters, expected at most "}};

}  // namespace

TEST_CASE("a text that no file can hold is refused, and nothing is written", "[program][kept_text]") {
  const test::SampleShop sample;
  grade_some(sample);
  const std::string grades_before = test::read_text(sample.results());
  const auto refused = [&](std::vector<std::string> words, const std::string& option, const Wrong& wrong) {
    words.push_back(option);
    words.push_back(wrong.text);
    const test::Outcome outcome = run_in_process(sample, words);
    INFO(words.front() << ' ' << option << ": " << outcome.err);
    CHECK(outcome.status == 2);
    CHECK(outcome.out.empty());
    CHECK_THAT(outcome.err, Contains(option + ": found " + wrong.found));
  };
  for (const Wrong& wrong : kWrong) {
    refused(with_dials({"log", "amber-jug", "--good"}), "--by", wrong);
    refused(with_dials({"log", "amber-jug", "--good", "--by", "Ann"}), "--note", wrong);
    refused({"log", "amber-jug", "--by", "Ann"}, "--cured", wrong);
    refused(with_dials({"table", "adopt", "amber-jug", "--reason", "x"}), "--by", wrong);
    refused(with_dials({"table", "adopt", "amber-jug", "--by", "Ann"}), "--reason", wrong);
    refused({"table", "restore", "amber-jug", "--by", "Ann"}, "--reason", wrong);
    refused({"grade", "1"}, "--grader", wrong);
  }
  CHECK(test::read_text(sample.results()) == grades_before);
  CHECK_FALSE(fs::exists(grades::pieces_layout(sample.shop()).path));
  CHECK_FALSE(fs::exists(table::history_layout(sample.shop()).path));
  CHECK(run_in_process(sample, {"check"}).status == 0);
}

TEST_CASE("a piped note that no file can hold stops the lines there", "[program][kept_text]") {
  const test::SampleShop sample;
  const auto pipe = [&](const std::string& note) {
    return test::run_program({"grade", "1", "--shop", sample.option(), "--grader", "Ann"},
                             "4 0\nn " + note + "\n3 0\n");
  };
  for (const Wrong& wrong : kWrong) {
    if (wrong.text.size() > 60000) continue;  // more than the pipe takes at once
    const test::Outcome outcome = pipe(wrong.text);
    CHECK(outcome.status == 2);
    CHECK_THAT(outcome.err, Contains("standard input:2: note: found " + wrong.found));
  }
  CHECK(run_in_process(sample, {"check"}).status == 0);
}

TEST_CASE("line breaks and tabs of a text are kept as blanks", "[program][kept_text]") {
  const test::SampleShop sample;
  const fs::path file = sample.folder() / "in.csv";
  test::write_text(file, "swatch,frost,chipping,note\nF7,4,0,\"one\r\ntwo\nthree\"\nF8,4,0,x\n");
  const auto hand_in = [&] {
    return run_in_process(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"});
  };
  REQUIRE(hand_in().status == 0);
  CHECK(grades::read_grades(sample.shop(), sample.grid()).front().note == "one two three");
  CHECK_THAT(hand_in().out, Contains("nothing changed"));
  REQUIRE(
      run_in_process(sample, with_dials({"log", "amber-jug", "--good", "--by", "An\tn", "--note", "a\nb"}))
          .status == 0);
  const grades::PieceRow piece = grades::read_pieces(sample.shop()).front();
  CHECK(piece.by == "An n");
  CHECK(piece.note == "a b");
}

TEST_CASE("a file of grades with a text that is too long is refused whole", "[program][kept_text]") {
  const test::SampleShop sample;
  const fs::path file = sample.folder() / "in.csv";
  test::write_text(file, "swatch,frost,chipping,note,grader\nF7,4,0,x,Ann\nF8,4,0," + std::string(1001, 'x') +
                             ",Ann\nF9,4,0,x," + std::string(101, 'A') + "\n");
  const test::Outcome outcome = run_in_process(sample, {"grade", "1", "--from", file.string()});
  CHECK(outcome.status == 2);
  CHECK_THAT(
      outcome.err,
      Contains("in.csv:3:8: note: found 1001 characters, expected at most 1000; say it in fewer words") &&
          Contains("in.csv:4:10: grader: found 101 characters, expected at most 100"));
  CHECK_FALSE(fs::exists(sample.results()));
}
