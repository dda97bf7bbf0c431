// What people and their spreadsheets hand in: each wrong file with its message and its exit status.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "cli/dispatch.hpp"
#include "grades/grade_file.hpp"
#include "support/sample_shop.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
namespace fs = std::filesystem;

namespace {

struct Ran {
  int status;
  std::string out;
  std::string err;
};

Ran run(const test::SampleShop& sample, std::vector<std::string> words) {
  words.insert(words.end(), {"--shop", sample.option()});
  std::istringstream in;
  std::ostringstream out;
  std::ostringstream err;
  const cli::ExitStatus status = cli::dispatch(words, {in, out, err});
  return {static_cast<int>(status), out.str(), err.str()};
}

void write(const fs::path& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

std::string without(std::string text, const std::string& part) {
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part))
    text.erase(at, part.size());
  return text;
}

}  // namespace

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
  write(file, bytes);
  const Ran ran = run(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"});
  CHECK(ran.status == 2);
  CHECK(ran.out == "");
  CHECK(without(ran.err, sample.option() + "/") == message);
  CHECK_FALSE(fs::exists(sample.results()));
}

TEST_CASE("files that are none are refused", "[program][bad_input]") {
  const test::SampleShop sample;
  const fs::path file = sample.folder() / "in.csv";
  write(file, "");
  fs::resize_file(file, 100U * 1024U * 1024U);
  Ran ran = run(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("found a file of 100 MiB, expected at most 32 MiB"));
  ran = run(sample, {"grade", "1", "--from", sample.folder().string(), "--grader", "Ann"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("found a folder, expected a plain file"));
  ran = run(sample, {"grade", "1", "--from", (sample.folder() / "none.csv").string(), "--grader", "Ann"});
  CHECK(ran.status == 2);
  CHECK_THAT(ran.err, Contains("none.csv: cannot open for reading: No such file or directory"));
  ran = run(sample, {"grade", "2", "--from", file.string(), "--grader", "Ann"});
  CHECK(ran.status == 2);
  write(file, "swatch,frost,chipping\nA1,4,0\n");
  CHECK(run(sample, {"grade", "1", "--from", file.string()}).status == 2);
  ran = run(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"});
  CHECK(ran.status == 0);
  CHECK(ran.out == sample.grid().id + ": recorded 1 grade; 1 of 120 graded by Ann.\n");
}

TEST_CASE("check names the faults of a shop, each with its file", "[program][bad_input]") {
  const test::SampleShop sample;
  const fs::path folder = sample.folder() / "grids" / sample.grid().id;
  const std::string time = "2026-11-25T11:14:05Z";
  CHECK(run(sample, {"check"}).status == 0);
  SECTION("swatches.csv is gone") {
    fs::remove(folder / "swatches.csv");
    const Ran ran = run(sample, {"check"});
    CHECK(ran.status == 1);
    CHECK_THAT(ran.out, Contains("swatches.csv"));
    CHECK(run(sample, {"grade", "1", "--form", "-"}).status == 2);
  }
  SECTION("grid.toml is gone") {
    fs::remove(folder / "grid.toml");
    CHECK_THAT(run(sample, {"check"}).out, Contains("no grid.toml") && Contains("plan again"));
  }
  SECTION("swatches.csv was changed") {
    std::string text;
    {
      std::ifstream in(folder / "swatches.csv");
      text.assign(std::istreambuf_iterator<char>(in), {});
    }
    text.replace(text.find("20.00"), 5, "-9.00");
    write(folder / "swatches.csv", text);
    CHECK(run(sample, {"check"}).status == 1);
    CHECK(run(sample, {"grade", "1", "--form", "-"}).status == 2);
  }
  SECTION("a shop without machines") {
    write(sample.folder() / "grids" / "shop.toml", "[shop]\nname = \"x\"\n");
    const Ran ran = run(sample, {"check"});
    CHECK(ran.status == 1);
    CHECK_THAT(ran.out, Contains("found no machine"));
    CHECK(run(sample, {"grade", "1", "--form", "-"}).status == 2);
  }
  SECTION("a wrong grade, a torn row, a left-over, grades without a grid, a link out") {
    fs::create_directories(sample.folder() / "results");
    write(sample.results(),
          "swatch,frost,chipping,note,grader,graded_at\nA1,9,0,,Ann," + time + "\nA2,4,0,,An");
    write(sample.folder() / "results" / ".pieces.csv.tmp", "half");
    write(sample.folder() / "results" / "0009-lost.csv", "swatch\n");
    fs::create_symlink("/etc/hostname", sample.folder() / "results" / "pieces.csv");
    const Ran before = run(sample, {"check"});
    CHECK(before.status == 1);
    CHECK_THAT(before.out, Contains(":2:4: frost: found \"9\"") && Contains("cut while it was written") &&
                               Contains(".pieces.csv.tmp: found a temporary file") &&
                               Contains("0009-lost.csv: found grades of a grid that is not there") &&
                               Contains("a link out of the shop folder") && Contains("5 faults."));
    const Ran repaired = run(sample, {"check", "--repair"});
    CHECK(repaired.status == 1);
    CHECK_THAT(repaired.out, Contains("cut off a torn row, \"A2,4,0,,An\"") && Contains("3 faults."));
    std::ifstream in(sample.results());
    const std::string text((std::istreambuf_iterator<char>(in)), {});
    CHECK(text == "swatch,frost,chipping,note,grader,graded_at\nA1,9,0,,Ann," + time + "\n");
    CHECK(fs::is_symlink(sample.folder() / "results" / "pieces.csv"));
  }
}
