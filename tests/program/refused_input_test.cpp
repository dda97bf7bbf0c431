// Wrong shops, folders and disks, handed to the real program: each with its message and its exit status.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "grades/grade_file.hpp"
#include "support/program.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using test::read_text;
using test::without;
using test::write_text;
namespace fs = std::filesystem;

namespace {

test::Outcome run(const test::SampleShop& sample, std::vector<std::string> words) {
  words.insert(words.end(), {"--shop", sample.option()});
  return test::run_program(words);
}

std::string replaced(std::string text, const std::string& old_part, const std::string& new_part) {
  const std::size_t at = text.find(old_part);
  REQUIRE(at != std::string::npos);
  return text.replace(at, old_part.size(), new_part);
}

fs::path shop_toml(const test::SampleShop& sample) {
  return sample.folder() / "grids" / "shop.toml";
}

std::string in_shop_toml(const std::string& old_part, const std::string& new_part) {
  const test::SampleShop sample;
  write_text(shop_toml(sample), replaced(read_text(shop_toml(sample)), old_part, new_part));
  const test::Outcome fit = run(sample, {"fit"});
  CHECK(fit.status == 2);
  CHECK(fit.out == "");
  const test::Outcome plan = run(sample, {"plan", "amber-jug", "--yes"});
  CHECK(plan.status == 2);
  CHECK(plan.err == fit.err);
  return without(fit.err, sample.option() + "/grids/");
}

/// Runs the words under the shell's words `before`; standard error goes to a file.
test::Outcome in_shell(const test::SampleShop& sample, const std::string& before, const std::string& words) {
  const fs::path messages = sample.folder().string() + ".messages";
  const std::string command = before + " '" + std::string(FROSTCAL_PROGRAM) + "' " + words +
                              " > /dev/null 2> '" + messages.string() + "'";
  const int status = std::system(("bash -c \"" + command + "\"").c_str());
  const std::string err = read_text(messages);
  const test::Outcome outcome{WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status), "",
                              test::unwrapped(err), err};
  fs::remove(messages);
  return outcome;
}

}  // namespace

TEST_CASE("values in shop.toml that no machine has", "[program][bad_input]") {
  CHECK_THAT(in_shop_toml("power_pct = { min = 5", "power_pct = { min = nan"),
             Contains("machine.power_pct.min: found nan, expected a percentage above 0, up to 100\n"));
  CHECK_THAT(in_shop_toml("speed_pct = { min = 5", "speed_pct = { min = -5"),
             Contains("machine.speed_pct.min: found -5, expected a percentage above 0, up to 100\n"));
  CHECK_THAT(
      in_shop_toml("power_pct = { min = 5, max = 100", "power_pct = { min = 5, max = 110"),
      Contains("machine.power_pct.max: found 110, expected a percentage") && !Contains("max below min"));
  CHECK_THAT(in_shop_toml("power_pct = { min = 5, max = 100", "power_pct = { min = 50, max = 20"),
             Contains("machine.power_pct.max: found a max below min"));
  CHECK_THAT(in_shop_toml("top_speed_mm_s = 1200", "top_speed_mm_s = -1200"),
             Contains("machine.top_speed_mm_s: found -1200, expected a speed in mm/s from 1 to 20000\n"));
  for (const std::string name : {"../amber", "amber/jug", "..", "/etc", "amber\\\\jug"}) {
    const std::string message = in_shop_toml("name = \"amber-jug\"", "name = \"" + name + '"');
    CHECK_THAT(message, Contains("glass.name: found") &&
                            Contains("expected a name of letters a to z, digits, - and _, no blanks, at most "
                                     "40 (it becomes a folder name)"));
  }
}

TEST_CASE("a shop file that is empty, cut or no text", "[program][bad_input]") {
  const test::SampleShop sample;
  const auto fit = [&](const std::string& bytes) {
    write_text(shop_toml(sample), bytes);
    const test::Outcome outcome = run(sample, {"fit"});
    CHECK(outcome.status == 2);
    return without(outcome.err, sample.option() + "/grids/");
  };
  CHECK_THAT(fit(""),
             Contains("shop.toml:1:1: machine: found no machine, expected at least one [[machine]]"));
  CHECK_THAT(fit("[shop]\nname = \"x\"\n"), Contains("machine: found no machine"));
  CHECK_THAT(fit("[shop]\nname = \"Gr\xFCn\"\n"),
             Contains("shop.toml:2:11: found the byte 0xFC that is not UTF-8"));
  CHECK_THAT(fit(std::string("[shop]\nname = \"a\0b\"\n", 20)), Contains("shop.toml:2:10: found a NUL byte"));
  CHECK_THAT(fit("[shop\nname"), Contains("shop.toml:"));
  const test::Outcome plan = run(sample, {"plan", "amber-jug", "--yes"});
  CHECK(plan.status == 2);
  CHECK(run(sample, {"table", "show"}).status == 2);
}

TEST_CASE("settings that no machine takes, on the command line", "[program][bad_input]") {
  const test::SampleShop sample;
  const auto refused = [&](std::vector<std::string> words) {
    const test::Outcome outcome = run(sample, std::move(words));
    CHECK(outcome.status == 2);
    CHECK(outcome.out == "");
    return outcome.err;
  };
  CHECK_THAT(refused({"fit", "amber-jug", "--at", "power=nan,speed=40,dpi=300"}),
             Contains("--at: found \"nan\"") && Contains("expected a number"));
  CHECK_THAT(refused({"fit", "amber-jug", "--at", "power=50,speed=-40,dpi=300"}),
             Contains("the machine bench does not take -40 % speed (it takes "));
  CHECK_THAT(refused({"fit", "amber-jug", "--at", "power=50,speed=40,dpi=300,screen=nope"}),
             Contains("--at: the machine bench does not take the screen \"nope\" (it offers "));
  CHECK_THAT(refused({"fit", "amber-jug", "--at", "power=50,speed=40,dpi=300.4"}),
             Contains("--at: found \"300.4\" in") && Contains("expected a whole number from 1 to 10000"));
  CHECK_THAT(refused({"fit", "amber-jug", "--at", "power=50,speed=40,dpi=1e30"}),
             Contains("expected a whole"));
  CHECK_THAT(refused({"fit", "amber-jug", "--at", "power=50,speed=40,dpi=300,passes=1.4"}),
             Contains("--at: found \"1.4\" in") && Contains("expected a whole number from 1 to 100"));
  CHECK_THAT(refused({"plan", "amber-jug", "--dpi", "250.4", "--yes"}),
             Contains("--dpi: found 250.4, expected whole numbers"));
  // Said before any work, also where no glass has grades yet.
  CHECK_THAT(refused({"fit", "--at", "rubbish"}), Contains("--at: found \"rubbish\""));
  CHECK_THAT(refused({"fit", "--seed", "x"}), Contains("--seed: found \"x\""));
  CHECK_THAT(refused({"fit", "--report", "x.pdf", "--paper", "a3"}), Contains("--paper: found \"a3\""));
  CHECK_THAT(refused({"plan", "amber-jug", "--power", "nan:100", "--yes"}), Contains("--power: found"));
  CHECK_THAT(refused({"plan", "amber-jug", "--speed", "-40:60", "--yes"}), Contains("--speed: found"));
  CHECK_THAT(
      refused({"plan", "amber-jug", "--dpi", "300:500"}),
      Contains("--dpi: found \"300:500\", expected numbers with commas between them, such as 250,300"));
  CHECK_THAT(refused({"plan", "amber-jug", "--power", "20-60"}),
             Contains("--power: found \"20-60\", expected a number or LOW:HIGH, such as 20:60"));
  const std::vector<std::string> adopt{"table", "adopt", "amber-jug", "--by", "Ann", "--reason", "x"};
  std::vector<std::string> words = adopt;
  words.insert(words.end(), {"--power", "nan", "--speed", "40", "--dpi", "300"});
  CHECK_THAT(refused(words), Contains("--power: found \"nan\", expected a number from 0.01 to 100\n"));
  words = adopt;
  words.insert(words.end(), {"--power", "40", "--speed", "-40", "--dpi", "300"});
  CHECK_THAT(refused(words), Contains("--speed: found \"-40\", expected a number from 0.01 to 100\n"));
  for (const std::string name : {"../amber-jug", "amber/jug", ".."}) {
    CHECK_THAT(refused({"plan", name, "--yes"}), Contains("found no glass named \"" + name + '"'));
    CHECK_THAT(refused({"fit", name}), Contains("found no glass named \"" + name + '"'));
  }
  CHECK_THAT(refused({"grade", "../0001-amber-jug", "--form", "-"}), Contains("../0001-amber-jug"));
  CHECK_FALSE(fs::exists(sample.folder() / "results"));
}

TEST_CASE("a grid's own files damaged", "[program][bad_input]") {
  const test::SampleShop sample;
  const fs::path swatches = sample.folder() / "grids" / sample.grid().id / "swatches.csv";
  const std::string good = read_text(swatches);
  const auto all_refuse = [&](const std::string& message) {
    for (const std::vector<std::string>& words :
         {std::vector<std::string>{"fit"}, std::vector<std::string>{"sheet", "1"},
          std::vector<std::string>{"plan", "amber-jug", "--yes"}}) {
      const test::Outcome outcome = run(sample, words);
      INFO(words[0] << ": " << outcome.err);
      CHECK(outcome.status == 2);
      CHECK_THAT(without(outcome.err, swatches.parent_path().string() + '/'), Contains(message));
    }
    CHECK(run(sample, {"check"}).status == 1);
  };
  fs::remove(swatches);
  all_refuse("swatches.csv: found no swatches.csv, expected the list of swatches that was planned");
  write_text(swatches, "");
  all_refuse("swatches.csv: found an empty file");
  write_text(swatches, replaced(good, "A1,amber-jug-1,1,-33.00,30.00,5.00,5.00,20.00",
                                "A1,amber-jug-1,1,-33.00,30.00,5.00,5.00,nan"));
  all_refuse("swatches.csv:2:41: power_pct: found \"nan\", expected a number from 0.1 to 100");
  write_text(swatches, replaced(good, "5.00,5.00,20.00,10.00", "5.00,5.00,20.00,-10.00"));
  all_refuse("speed_pct: found \"-10.00\", expected a number from");
  write_text(swatches, good.substr(0, good.find('\n') + 1));
  all_refuse("swatches.csv");
  write_text(swatches, good);
  CHECK(run(sample, {"check"}).status == 0);
}

TEST_CASE("grades that were damaged after they were saved", "[program][bad_input]") {
  const test::SampleShop sample;
  const std::string header = "swatch,frost,chipping,note,grader,graded_at\n";
  const std::string end = ",0,,Ann,2026-11-25T11:14:05Z\n";
  const auto [row, message] = GENERATE_REF(table<std::string, std::string>({
      {"A1,7" + end, ":2:4: frost: found \"7\", expected a whole number from 0 to 5\n"},
      {"A1,four" + end,
       ":2:4: frost: found \"four\", expected a whole number from 0 to 5; write a number in digits\n"},
      {"Z9,4" + end, ":2:1: swatch: found \"Z9\", expected a swatch of this grid (A1 to J12)"},
      {std::string("A1,\0004", 5) + end, ":2:4: found a NUL byte, expected plain text"},
      {"A1,4,0,gr\xFCn,Ann,2026-11-25T11:14:05Z\n", ":2:10: found the byte 0xFC that is not UTF-8"},
  }));
  write_text(sample.results(), header + row);
  const test::Outcome outcome = run(sample, {"fit"});
  CHECK(outcome.status == 2);
  CHECK(outcome.out == "");
  CHECK_THAT(without(outcome.err, sample.results().string()), Contains(message));
  const test::Outcome check = run(sample, {"check"});
  CHECK(check.status == 1);
  CHECK_THAT(without(check.out, sample.results().string()), Contains(message));
}

TEST_CASE("no grades yet is an answer, not a fault", "[program][bad_input]") {
  const test::SampleShop sample;
  const std::string none =
      "No swatch is graded yet. Plan a grid, burn it, then:  frostcal grade GRID --shop " + sample.option() +
      "\n";
  for (const char* text : {"", "swatch,frost,chipping,note,grader,graded_at\n"}) {
    write_text(sample.results(), text);
    const test::Outcome outcome = run(sample, {"fit"});
    CHECK(outcome.status == 1);
    CHECK(outcome.out == none);
    if (*text == '\0') {
      CHECK_THAT(outcome.err, Contains("without any grades are the empty"));
    } else {
      CHECK(outcome.err == "");
    }
  }
}

TEST_CASE("a line of 100 MB", "[program][bad_input]") {
  const test::SampleShop sample;
  const fs::path file = sample.folder() / "in.csv";
  {
    std::ofstream out(file, std::ios::binary);
    const std::string million(1000000, '4');
    out << "swatch,frost,chipping\nA1,";
    for (int i = 0; i < 100; ++i) out << million;
  }
  const test::Outcome graded = run(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"});
  CHECK(graded.status == 2);
  CHECK_THAT(graded.err, Contains("in.csv: found a file of 95 MiB, expected at most 32 MiB"));
  const test::Outcome plain =
      run(sample, {"fit", "--plain", file.string(), "--grade", "frost", "--by", "swatch"});
  CHECK(plain.status == 2);
  CHECK_THAT(plain.err, Contains("in.csv: found a file of 95 MiB, expected at most 32 MiB"));
  fs::create_directories(sample.results().parent_path());
  fs::rename(file, sample.results());
  CHECK(run(sample, {"fit"}).status == 2);
  CHECK(run(sample, {"check"}).status == 1);
}

TEST_CASE("a shop that may only be read is named, and nothing is left in it", "[program][bad_input]") {
  const test::SampleShop sample;
  REQUIRE(
      test::run_program({"grade", "1", "--shop", sample.option(), "--grader", "Ann"}, "4 0\n3 0\n").status ==
      1);
  fs::create_directories(sample.folder() / "results");
  const std::string before = read_text(sample.results());
  const auto closed =
      fs::perms::owner_read | fs::perms::owner_exec | fs::perms::others_read | fs::perms::others_exec;
  const std::vector<fs::path> folders{sample.folder(), sample.folder() / "grids",
                                      sample.folder() / "results"};
  const auto lock = fs::perms::owner_read | fs::perms::others_read;
  for (const fs::path& folder : folders) fs::permissions(folder, closed);
  if (fs::exists(sample.folder() / ".lock")) fs::permissions(sample.folder() / ".lock", lock);
  const auto as_nobody = [&](std::vector<std::string> words) {
    words.insert(words.end(), {"--shop", sample.option()});
    return test::run_program(words, "", true);
  };
  const test::Outcome plan = as_nobody({"plan", "amber-jug", "--swatches", "6", "--seed", "1", "--yes"});
  const test::Outcome adopt = as_nobody({"table", "adopt", "amber-jug", "--by", "Ann", "--reason", "x",
                                         "--power", "50", "--speed", "40", "--dpi", "300"});
  const test::Outcome show = as_nobody({"table", "show"});
  for (const fs::path& folder : folders) fs::permissions(folder, closed | fs::perms::owner_write);
  if (plan.status >= 126) {
    WARN("not tested: an unprivileged child cannot run the program here");
    return;
  }
  CHECK(plan.status == 2);
  CHECK_THAT(plan.err, Contains("Permission denied") && Contains("must be writable"));
  CHECK(adopt.status == 2);
  CHECK_THAT(adopt.err, Contains("Permission denied"));
  CHECK(show.status != 2);  // reading needs no writing
  CHECK(read_text(sample.results()) == before);
  CHECK(design::grid_ids(sample.shop()).size() == 1);
}

TEST_CASE("folders that may not be looked into, and paths that no disk takes, are trouble",
          "[program][bad_input]") {
  const test::SampleShop sample;
  const auto as_nobody = [&](std::vector<std::string> words) {
    words.insert(words.end(), {"--shop", sample.option()});
    return test::run_program(words, "", true);
  };
  const auto everybody = fs::perms::owner_all | fs::perms::others_read | fs::perms::others_exec;
  fs::permissions(sample.folder(), everybody);
  if (as_nobody({"check"}).status >= 126) {
    WARN("not tested: an unprivileged child cannot run the program here");
    return;
  }
  fs::create_directories(sample.folder() / "results");
  const auto closed = [&](const fs::path& folder, fs::perms perms, const std::vector<std::string>& words) {
    fs::permissions(folder, perms);
    const test::Outcome outcome = as_nobody(words);
    fs::permissions(folder, everybody);
    INFO(folder << ": " << outcome.err);
    CHECK(outcome.status == 2);
    CHECK_THAT(outcome.err, Contains(folder.string()) && Contains("Permission denied"));
  };
  const fs::path grids = sample.folder() / "grids";
  for (const fs::perms perms : {fs::perms::owner_all, fs::perms::owner_all | fs::perms::others_read}) {
    for (const fs::path& folder : {sample.folder(), grids}) closed(folder, perms, {"fit"});
    closed(grids / sample.grid().id, perms, {"fit"});
    closed(sample.folder() / "results", perms, {"fit"});
    closed(grids / sample.grid().id, perms, {"grade", "1", "--grader", "Ann"});
  }
  fs::permissions(sample.folder(), fs::perms::owner_all);
  CHECK(test::run_program({"start", (sample.folder() / "new").string()}, "", true).status == 2);
  fs::permissions(sample.folder(), everybody);
  const std::string long_name(300, 'x');
  std::string long_path;
  for (int i = 0; i < 3000; ++i) long_path += "x/";
  for (const std::string& path : {long_name, long_path, sample.option() + '/' + long_name}) {
    const test::Outcome fit = test::run_program({"fit", "--shop", path});
    CHECK(fit.status == 2);
    CHECK_THAT(fit.err, Contains("File name too long"));
    const test::Outcome start = test::run_program({"start", path});
    CHECK(start.status == 2);
    CHECK_THAT(start.err, Contains("File name too long"));
  }
}

TEST_CASE("a shop folder that is none says how to make one", "[program][bad_input]") {
  const test::SampleShop sample;
  write_text(sample.folder() / "file", "x");
  const std::string word = GENERATE("fit", "check");
  for (const std::string name : {"file", "missing", "results"}) {
    CAPTURE(word, name);
    const test::Outcome outcome = test::run_program({word, "--shop", (sample.folder() / name).string()});
    CHECK(outcome.status == 2);
    CHECK(outcome.out.empty());
    CHECK_THAT(outcome.err, Contains("make a shop folder with frostcal start DIR"));
  }
}

TEST_CASE("a results file in UTF-16 is one fault, and no torn row", "[program][bad_input]") {
  const test::SampleShop sample;
  const std::string rows = "swatch,frost,chipping,note,grader,graded_at,format\n";
  std::string wide = "\xFF\xFE";
  for (const char c : rows) wide += std::string{c, '\0'};
  write_text(sample.results(), wide);
  const test::Outcome outcome = test::run_program({"check", "--shop", sample.option()});
  CHECK(outcome.status == 1);
  CHECK_THAT(outcome.out, Contains("UTF-16") && Contains(", 1 fault.") && !Contains("--repair"));
}

TEST_CASE("start makes no shop in one place when another is named", "[program][bad_input]") {
  const test::SampleShop sample;
  const std::string made = (sample.folder() / "made").string();
  const test::Outcome outcome =
      test::run_program({"start", made, "--shop", (sample.folder() / "other").string()});
  CHECK(outcome.status == 2);
  CHECK_THAT(outcome.err, Contains("--shop names a shop that is there"));
  CHECK_FALSE(std::filesystem::exists(made));
}

TEST_CASE("check goes on behind a file that may not be read", "[program][bad_input]") {
  const test::SampleShop sample;
  const auto words = [&](std::vector<std::string> more) {
    more.insert(more.end(), {"--shop", sample.option()});
    return more;
  };
  REQUIRE(test::run_program(words({"log", "amber-jug", "--good", "--by", "Ann", "--power", "50", "--speed",
                                   "40", "--dpi", "300"}))
              .status == 0);
  REQUIRE(test::run_program(
              words({"log", "amber-jug", "--cured", "lens cleaned", "--since", "2026-01-01", "--by", "Ann"}))
              .status != 70);
  const fs::path results = sample.folder() / "results";
  write_text(results / "cured-faults.csv",
             "machine,cure,since,by,recorded_at,format\nbench,lens cleaned,2026-11-01T00:00:00Z,Ann,"
             "2026-11-20T00:00:00Z,1\n");
  write_text(results / "settings-history.csv", "glass\n");  // comes after the pieces
  const auto open = fs::perms::owner_all | fs::perms::others_read | fs::perms::others_exec;
  fs::permissions(sample.folder(), open);
  fs::permissions(results / "pieces.csv", fs::perms::owner_read | fs::perms::owner_write);
  const test::Outcome outcome = test::run_program(words({"check"}), "", true);
  if (outcome.status >= 126) {
    WARN("not tested: an unprivileged child cannot run the program here");
    return;
  }
  CHECK(outcome.status == 1);
  CHECK_THAT(outcome.out, Contains("results/pieces.csv: cannot open for reading: Permission denied") &&
                              Contains("settings-history.csv"));
}

TEST_CASE("a file that the system lets grow no further", "[program][full_disk]") {
  const test::SampleShop sample;
  REQUIRE(
      test::run_program({"grade", "1", "--shop", sample.option(), "--grader", "Ann"}, "4 0\n3 0\n").status ==
      1);
  const std::string before = read_text(sample.results());
  const fs::path more = sample.folder() / "in.csv";
  std::string rows = "swatch,frost,chipping,note\n";
  for (const design::Swatch& swatch : sample.grid().swatches)
    rows += swatch.id + ",4,0," + std::string(40, 'n') + '\n';
  write_text(more, rows);
  const std::string words =
      "grade 1 --shop '" + sample.option() + "' --from '" + more.string() + "' --grader Bo";
  const test::Outcome full = in_shell(sample, "trap '' XFSZ; ulimit -f 1;", words);
  CHECK(full.status == 2);
  CHECK_THAT(full.err, Contains(sample.results().string() + ": cannot add a row: File too large"));
  CHECK(read_text(sample.results()) == before);
  CHECK(run(sample, {"check"}).status == 0);
  CHECK(in_shell(sample, "", words).status == 0);
}

TEST_CASE("a full disk", "[program][full_disk]") {
  const test::SampleShop sample;
  REQUIRE(
      test::run_program({"grade", "1", "--shop", sample.option(), "--grader", "Ann"}, "4 0\n3 0\n").status ==
      1);
  if (std::system("unshare -rm true 2> /dev/null") != 0) {
    WARN("not tested: no file system can be mounted here (unshare -rm)");
    return;
  }
  // The shop is copied to a file system of 1 MiB of the child's own, which is then filled to the last byte.
  const fs::path script = sample.folder() / "full";
  write_text(
      script,
      "set -eu\n"
      "shop=$1 program=$2\n"
      "full=$shop/small; mkdir \"$full\"; mount -t tmpfs -o size=1m tmpfs \"$full\" 2> /dev/null || exit 99\n"
      "cp -r \"$shop/grids\" \"$shop/results\" \"$full/\"; touch \"$full/.lock\"\n"
      "file=$full/results/$3\n"
      "cp \"$file\" \"$shop/before\"\n"
      "printf 'swatch,frost,chipping,note\\n' > \"$shop/in.csv\"\n"
      "for i in 1 2 3 4 5 6 7 8 9 10 11 12; do for r in A B C D E F G H I J; do\n"
      "  printf '%s,4,0,%0100d\\n' \"$r$i\" 1 >> \"$shop/in.csv\"; done; done\n"
      "cat /dev/zero > \"$full/filler\" 2> /dev/null || true\n"
      "status=0; \"$program\" grade 1 --shop \"$full\" --from \"$shop/in.csv\" --grader Bo 2> "
      "\"$shop/messages\" "
      "> /dev/null || status=$?\n"
      "cmp -s \"$file\" \"$shop/before\" || exit 98\n"
      "plan=0; \"$program\" plan amber-jug --swatches 6 --seed 1 --yes --shop \"$full\" 2>> "
      "\"$shop/messages\" "
      "> /dev/null || plan=$?\n"
      "[ \"$plan\" = 2 ] || exit 97\n"
      "[ ! -e \"$full/grids/0002-amber-jug\" ] || exit 95\n"
      "\"$program\" check --shop \"$full\" > \"$shop/checked\" || exit 94\n"
      "rm \"$full/filler\"\n"
      "\"$program\" grade 1 --shop \"$full\" --from \"$shop/in.csv\" --grader Bo > /dev/null || exit 96\n"
      "exit $status\n");
  const int status = std::system(("unshare -rm bash '" + script.string() + "' '" + sample.option() + "' '" +
                                  std::string(FROSTCAL_PROGRAM) + "' '" + sample.grid().id + ".csv'")
                                     .c_str());
  if (WEXITSTATUS(status) == 99) {
    WARN("not tested: no small file system can be mounted here");
    return;
  }
  INFO(read_text(sample.folder() / "messages") << read_text(sample.folder() / "checked"));
  CHECK(WEXITSTATUS(status) == 2);
  CHECK_THAT(
      test::unwrapped(read_text(sample.folder() / "messages")),
      Contains("cannot add a row: No space left on device; free some space and do it again; nothing was "
               "added\n") &&
          Contains("0002-amber-jug") && Contains("No space left on device"));
}
