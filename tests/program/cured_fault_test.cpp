// A setting goes stale by a fault of the machine, the fault is cured and recorded, the setting is renewed.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "cli/terminal.hpp"
#include "support/grades_by_dose.hpp"
#include "support/in_process.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"
#include "table/settings_history.hpp"
#include "textfile/time_text.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using nlohmann::json;
using test::run_in_process;
namespace fs = std::filesystem;

namespace {

// A shop that sells at 0.80, with grades by a rule of ours and a setting in force; and a second machine.
class AdoptedShop : public test::SampleShop {
 public:
  AdoptedShop() {
    std::string text = shop::shop_template();
    const std::string target = "chance = 0.90";
    text.replace(text.find(target), target.size(), "chance = 0.80");
    std::ofstream(shop::shop_file(folder()))
        << text
        << "\n[[machine]]\nname = \"barn\"\nrated_power_w = 90\ntop_speed_mm_s = 1000\nspot_mm = 0.14\n"
           "dpi = [250, 300, 500]\npower_pct = { min = 5, max = 100, step = 1 }\n"
           "speed_pct = { min = 5, max = 100, step = 1 }\nscreens = [\"stucki\"]\n";
    const fs::path file = folder() / "in.csv";
    std::ofstream(file) << test::grades_by_dose(grid(), shop().machines.front());
    REQUIRE(run({"grade", "1", "--from", file.string(), "--grader", "Ann"}).status == 0);
    REQUIRE(run({"table", "adopt", "amber-jug", "--by", "Ann"}).status == 0);
  }

  test::Outcome run(const std::vector<std::string>& words) const { return run_in_process(*this, words); }

  test::Outcome log(int frost, int pieces) const {
    return run({"log", "amber-jug", "--frost", std::to_string(frost), "--chipping", "0", "--by", "Bo",
                "--pieces", std::to_string(pieces)});
  }

  json row() const { return json::parse(run({"table", "--json"}).out).at("rows").at(0); }

  void check_whole() const {
    const test::Outcome check = run({"check"});
    CAPTURE(check.out, check.err);
    CHECK(check.status == 0);
    CHECK_THAT(check.out + check.err, !Contains("doubt"));
  }

  fs::path cured_file() const { return folder() / "results" / "cured-faults.csv"; }
};

const std::vector<std::string> kCured{"log", "amber-jug", "--cured", "lens cleaned", "--by", "Ann"};
const std::vector<std::string> kRenew{"table", "adopt", "amber-jug", "--in-force", "--by", "Ann"};
const std::string kRenewCommand = "frostcal table adopt amber-jug --machine bench --in-force --by NAME";
const std::string kCuredCommand = "frostcal log amber-jug --machine bench --cured \"lens cleaned\" --by NAME";

// Times in files are of whole seconds, and what was logged in the second of a finding came before it.
void wait_a_second() {
  cli::later_than(cli::now_text());
}

// The clock that commands see, while it lives.
class Clock {
 public:
  explicit Clock(const char* seconds) { ::setenv("SOURCE_DATE_EPOCH", seconds, 1); }
  ~Clock() { ::unsetenv("SOURCE_DATE_EPOCH"); }
  Clock(const Clock&) = delete;
  Clock& operator=(const Clock&) = delete;
};
constexpr const char* kLongAgo = "1262304000";  // 2010-01-01T00:00:00Z

// Moves what was logged so far to an earlier day, for tests of --since.
void log_on_day(const AdoptedShop& shop, const std::string& day) {
  const fs::path file = shop.folder() / "results" / "pieces.csv";
  std::string text = test::read_text(file);
  for (std::size_t at = 0; (at = text.find(",Bo,", at)) != std::string::npos; at += 14) {
    text.replace(at + 4, 10, day);
  }
  std::ofstream(file) << text;
}

}  // namespace

TEST_CASE("a cured fault is recorded, and the setting that it made stale is renewed", "[program][cured]") {
  const AdoptedShop shop;
  REQUIRE(shop.log(5, 5).status == 0);
  const double before =
      json::parse(shop.run({"fit", "amber-jug", "--json"}).out).at("glass").at(0).at("best").at("chance");
  wait_a_second();
  const test::Outcome stale = shop.log(2, 6);
  CHECK_THAT(stale.out, Contains("STALE") && Contains(kCuredCommand));
  shop.check_whole();

  wait_a_second();
  // Good pieces alone don't bring it back, and log says so instead of promising it.
  const test::Outcome few = shop.log(5, 11);
  CHECK_THAT(few.out, Contains("the rejects count") && Contains(kCuredCommand) && !Contains(kRenewCommand));
  const test::Outcome enough = shop.log(5, 1);
  const test::Outcome refused = shop.run(kRenew);
  CAPTURE(enough.out, refused.out);
  REQUIRE(refused.status == 1);
  CHECK_THAT(refused.out, Contains("is under the shop's target"));
  CHECK_THAT(enough.out, Contains("not enough to renew it yet") && Contains("is under the shop's target") &&
                             Contains(kCuredCommand) && !Contains(kRenewCommand));

  const std::string pieces = test::read_text(shop.folder() / "results" / "pieces.csv");
  const test::Outcome cured = shop.run(kCured);
  CAPTURE(cured.out, cured.err);
  REQUIRE(cured.status == 0);
  CHECK_THAT(cured.out, Contains("Recorded for bench: lens cleaned") &&
                            Contains("18 pieces of amber-jug: 12 good, 6 rejects") &&
                            Contains(kRenewCommand) && Contains("cured-faults.csv"));
  CHECK(test::read_text(shop.folder() / "results" / "pieces.csv") == pieces);
  shop.check_whole();

  // Nothing hides it, and until it is renewed the setting is stale.
  const std::string aside = "18 pieces set aside: lens cleaned on ";
  CHECK(shop.row().at("status") == "stale");
  CHECK(shop.row().at("excused") == true);
  CHECK_THAT(shop.run({"table"}).out, Contains("STALE") && Contains(aside) && Contains(kRenewCommand));
  CHECK_THAT(shop.run({"table", "history"}).out, Contains("lens cleaned, by Ann; 18 pieces since"));
  CHECK_THAT(shop.run({"job", "amber-jug", "--art", "60x40"}).out, Contains(aside) && Contains("(stale)"));
  CHECK_THAT(shop.run({"fit", "amber-jug"}).out,
             Contains("5 logged pieces\n") && Contains("Not counted   " + aside) && Contains(kRenewCommand));
  const json fit = json::parse(shop.run({"fit", "amber-jug", "--json"}).out).at("glass").at(0);
  CHECK(fit.at("pieces") == 5);
  CHECK(fit.at("best").at("chance") == before);  // as if those 18 had never been logged

  const test::Outcome next = shop.log(5, 1);  // in the same second: not set aside
  CHECK_THAT(next.out, Contains("0 of 1 piece") && Contains("(" + aside) && Contains(kRenewCommand));
  const test::Outcome renewed = shop.run(kRenew);
  CAPTURE(renewed.out);
  CHECK(renewed.status == 0);
  CHECK_THAT(renewed.out, Contains("6 logged pieces, 6 at this setting (18 pieces set aside: lens"));
  CHECK(shop.row().at("status") == "provisional");  // one bottle only
  CHECK_THAT(shop.row().at("reason").get<std::string>(), Contains(aside));
  CHECK_THAT(shop.run({"table", "history"}).out, Contains(aside));
  shop.check_whole();
  const std::string reason = shop.row().at("reason");
  CHECK(shop.run(kRenew).status == 0);
  CHECK(shop.row().at("reason") == reason);

  // The renewed setting is held to its promise as before.
  CHECK_THAT(shop.log(2, 6).out, Contains("STALE"));
  CHECK(shop.run(kRenew).status == 1);
}

TEST_CASE("a cure that was none does not excuse what follows", "[program][cured]") {
  const AdoptedShop shop;
  REQUIRE(shop.log(2, 6).status == 0);
  REQUIRE(shop.run(kCured).status == 0);
  wait_a_second();
  const test::Outcome again = shop.log(2, 6);
  CHECK_THAT(again.out, Contains("still come out worse than promised") && !Contains(kRenewCommand));
  CHECK(shop.run(kRenew).status == 1);
  CHECK(shop.row().at("excused") == false);
}

TEST_CASE("enough good pieces do renew a stale setting, and log says when", "[program][cured]") {
  const AdoptedShop shop;
  REQUIRE(shop.log(2, 6).status == 0);
  wait_a_second();
  test::Outcome logged = shop.log(5, 13);
  for (int batch = 0; batch < 12 && logged.out.find(kRenewCommand) == std::string::npos; ++batch) {
    CHECK(shop.run(kRenew).status == 1);  // while log does not say it, it is refused
    logged = shop.log(5, 10);
  }
  CAPTURE(logged.out);
  CHECK_THAT(logged.out, Contains("Enough was learned since, so renew it:  " + kRenewCommand));
  const std::vector<std::string> quote{"job", "amber-jug", "--art", "60x40"};
  CHECK_THAT(shop.run(quote).out, Contains("Renew it") && Contains(kRenewCommand) &&
                                      Contains("enough was learned since") && !Contains("Burn a grid first"));
  CHECK(shop.run(kRenew).status == 0);
  CHECK_THAT(shop.run(quote).out, !Contains("enough was learned"));
}

TEST_CASE("a cured fault is taken back by deleting its row", "[program][cured]") {
  const AdoptedShop shop;
  REQUIRE(shop.log(2, 6).status == 0);
  const json before = json::parse(shop.run({"fit", "amber-jug", "--json"}).out);
  REQUIRE(shop.run(kCured).status == 0);
  CHECK(json::parse(shop.run({"fit", "amber-jug", "--json"}).out) != before);
  const std::string text = test::read_text(shop.cured_file());
  std::ofstream(shop.cured_file()) << text.substr(0, text.find('\n') + 1);
  CHECK(json::parse(shop.run({"fit", "amber-jug", "--json"}).out) == before);
  CHECK(shop.run(kRenew).status == 1);
  shop.check_whole();
}

TEST_CASE("a cured fault sets the machine's other glasses aside too, and names grids", "[program][cured]") {
  const AdoptedShop shop;
  {
    std::ofstream toml(shop::shop_file(shop.folder()), std::ios::app);
    toml << "\n[[glass]]\nname = \"clear-flask\"\nfamily = \"other\"\ncolour = \"clear\"\nvessel = \""
         << shop.grid().vessel << "\"\n";
  }
  const std::vector<std::string> other{"log", "clear-flask", "--good", "--by",  "Bo", "--power",
                                       "60",  "--speed",     "40",     "--dpi", "300"};
  REQUIRE(shop.run(other).status == 0);
  std::vector<std::string> elsewhere = other;
  elsewhere.insert(elsewhere.end(), {"--machine", "barn", "--screen", "stucki"});
  REQUIRE(shop.run(elsewhere).status == 0);
  REQUIRE(shop.log(2, 6).status == 0);
  const std::string today = test::read_text(shop.folder() / "results" / "pieces.csv");
  const std::size_t at = today.rfind(",Bo,") + 4;
  std::vector<std::string> words = kCured;
  words.insert(words.end(), {"--since", today.substr(at, 10), "--json"});
  const json cured = json::parse(shop.run(words).out);
  CHECK(cured.at("machine") == "bench");
  CHECK(cured.at("since") == today.substr(at, 10) + "T00:00:00Z");
  REQUIRE(cured.at("set_aside").size() == 2);
  CHECK(cured.at("set_aside").at(0) ==
        json({{"glass", "amber-jug"}, {"pieces", 6}, {"good", 0}, {"rejects", 6}}));
  CHECK(cured.at("set_aside").at(1) ==
        json({{"glass", "clear-flask"}, {"pieces", 1}, {"good", 1}, {"rejects", 0}}));
  CHECK(cured.at("grids") == json({"0001-amber-jug"}));
  CHECK(cured.at("renew") == json({kRenewCommand + " --shop " + shop.folder().string()}));
  CHECK(cured.at("still_stale").empty());
}

TEST_CASE("a grid whose form gave only the day on which the fault began is named", "[program][cured]") {
  const AdoptedShop shop;
  const fs::path form = shop.folder() / "today.csv";
  std::ofstream(form) << "swatch,frost,chipping,graded_at\nA1,4,0," << cli::now_text().substr(0, 10) << '\n';
  REQUIRE(shop.run({"grade", "1", "--from", form.string(), "--grader", "Cy"}).status == 0);
  wait_a_second();  // what Ann graded was before the first reject
  REQUIRE_THAT(shop.log(2, 8).out, Contains("STALE"));
  CHECK_THAT(shop.run(kCured).out,
             Contains("Grids graded on bench in those days, which count as before: 0001-amber-jug."));
}

TEST_CASE("a setting stays stale when the fault is said to have begun too late", "[program][cured]") {
  const AdoptedShop shop;
  REQUIRE(shop.log(2, 6).status == 0);
  const std::string yesterday = "2026-11-20";
  log_on_day(shop, yesterday);
  // The setting was adopted later than that, so its six rejects of that day are none of its run any more.
  CHECK(shop.run(kCured).status == 2);
  CHECK_THAT(shop.run(kCured).err, Contains("--since is missing"));
  std::vector<std::string> words = kCured;
  words.insert(words.end(), {"--since", "2026-11-21"});
  const test::Outcome late = shop.run(words);
  CHECK(late.status == 1);
  CHECK_THAT(late.err, Contains("Nothing to set aside"));
  CHECK_FALSE(fs::exists(shop.cured_file()));
}

TEST_CASE("wrong ways to record a cured fault write nothing", "[program][cured]") {
  const AdoptedShop shop;
  const auto refused = [&](std::vector<std::string> words, int status, const std::string& message) {
    words.insert(words.begin(), {"log", "amber-jug", "--cured"});
    const test::Outcome ran = shop.run(words);
    CAPTURE(message, ran.out, ran.err);
    CHECK(ran.status == status);
    CHECK_THAT(ran.err, Contains(message));
    CHECK_FALSE(fs::exists(shop.cured_file()));
  };
  refused({"lens cleaned", "--by", "Ann"}, 2, "--since is missing: no run of rejects of amber-jug on bench");
  refused({"lens cleaned", "--by", "Ann", "--since", "2026-11-01"}, 1, "no piece that counts was logged");
  REQUIRE(shop.log(2, 6).status == 0);
  refused({"lens cleaned"}, 2, "--by is missing");
  refused({" ", "--by", "Ann"}, 2, "--cured: found an empty text");
  refused({"lens cleaned", "--by", "Ann", "--machine", "brn"}, 2, "did you mean barn?");
  refused({"lens cleaned", "--by", "Ann", "--machine", "barn"}, 2, "--since is missing");
  refused({"lens cleaned", "--by", "Ann", "--machine", "barn", "--since", "2026-11-01"}, 1,
          "Nothing to set aside");
  refused({"lens cleaned", "--by", "Ann", "--since", "2999-01-01"}, 2, "which is still to come; today is");
  refused({"lens cleaned", "--by", "Ann", "--since", "3 Nov"}, 2, "expected a day such as 2026-11-25");
  refused({"lens cleaned", "--by", "Ann", "--since", "2026-02-30"}, 2, "expected a day such as 2026-11-25");
  refused({"lens cleaned", "--by", "Ann", "--since", "2025-11-03"}, 2,
          "but the first piece on bench was logged on");
  refused({"lens cleaned", "--by", "Ann", "--good"}, 2, "--good does not go with --cured");
  refused({"lens cleaned", "--by", "Ann", "--pieces", "3"}, 2, "--pieces does not go with --cured");
  CHECK_THAT(shop.run({"log", "amber-jug", "--good", "--by", "Ann", "--since", "2026-11-01"}).err,
             Contains("--since needs --cured"));
  shop.check_whole();
}

TEST_CASE("check reads the cured faults", "[program][cured][check]") {
  const AdoptedShop shop;
  REQUIRE(shop.log(2, 6).status == 0);
  REQUIRE(shop.run(kCured).status == 0);
  const std::string text = test::read_text(shop.cured_file());
  const auto check = [&](const std::string& bytes, const std::vector<std::string>& words = {"check"}) {
    std::ofstream(shop.cured_file()) << bytes;
    return shop.run(words);
  };
  const test::Outcome wrong = check(text + "bench,lens,2026-11-03,Ann,2026-11-05T11:14:05Z,1\n");
  CHECK(wrong.status == 1);
  CHECK_THAT(wrong.out + wrong.err, Contains("cured-faults.csv:3:12: since: found \"2026-11-03\""));
  CHECK(shop.run({"fit", "amber-jug"}).status == 2);
  const test::Outcome nothing = check(text + "attic,lens,2026-11-03T00:00:00Z,Ann,2026-11-05T11:14:05Z,1\n");
  CHECK(nothing.status == 0);
  CHECK_THAT(nothing.out + nothing.err, Contains("a cured fault of attic that sets no piece aside"));
  const test::Outcome torn = check(text + "bench,le");
  CHECK(torn.status == 1);
  CHECK_THAT(torn.out + torn.err, Contains("cured-faults.csv: found a last row that was cut"));
  CHECK_THAT(shop.run({"fit", "amber-jug"}).err, Contains("cured-faults.csv"));
  CHECK(shop.run({"check", "--repair"}).status == 0);
  CHECK(test::read_text(shop.cured_file()) == text);
}

TEST_CASE("a clock that was set back is said, since what it dates would not count", "[program][clock]") {
  const AdoptedShop shop;
  REQUIRE(shop.log(5, 1).status == 0);
  const std::string pieces = test::read_text(shop.folder() / "results" / "pieces.csv");
  const std::string history = test::read_text(shop.folder() / "results" / "settings-history.csv");
  const fs::path grades = shop.folder() / "results" / "0001-amber-jug.csv";
  const std::string graded = test::read_text(grades);
  {
    const Clock back(kLongAgo);
    std::ofstream(shop.folder() / "one.csv") << "swatch,frost,chipping\nA1,1,0\n";
    const std::vector<std::vector<std::string>> commands{
        {"log", "amber-jug", "--frost", "2", "--chipping", "0", "--by", "Bo"},
        kCured,
        {"table", "adopt", "amber-jug", "--by", "Ann", "--reason", "why not"},
        {"table", "restore", "amber-jug", "--none", "--by", "Ann"},
        {"grade", "1", "--from", (shop.folder() / "one.csv").string(), "--grader", "Ann"},
        {"grade", "1", "--withdraw", "--grader", "Ann"}};
    for (const std::vector<std::string>& command : commands) {
      const test::Outcome refused = shop.run(command);
      CAPTURE(command, refused.out, refused.err);
      CHECK(refused.status == 2);
      CHECK_THAT(refused.err, Contains("results/") && Contains("it is only 2010-01-01T00:00:00Z") &&
                                  Contains("set this computer's clock"));
    }
    CHECK(shop.run({"table", "history"}).status == 0);  // nothing is written by it
  }
  CHECK(test::read_text(shop.folder() / "results" / "pieces.csv") == pieces);
  CHECK(test::read_text(shop.folder() / "results" / "settings-history.csv") == history);
  CHECK(test::read_text(grades) == graded);
  CHECK(shop.log(5, 1).status == 0);
}

namespace {

std::string last_cell_time(const fs::path& file) {
  const std::string text = test::read_text(file);
  return text.substr(text.rfind('Z') - 19, 20);
}

std::int64_t seconds_of(const std::string& time) {
  return textfile::utc_seconds(time).value();
}

}  // namespace

TEST_CASE("a clock that is seconds behind another's rows keeps their order", "[program][clock]") {
  const AdoptedShop shop;
  const fs::path pieces = shop.folder() / "results" / "pieces.csv";
  REQUIRE(shop.log(5, 1).status == 0);
  const std::int64_t newest = seconds_of(last_cell_time(pieces));
  {
    const Clock behind(std::to_string(newest - 119).c_str());
    REQUIRE(shop.log(5, 2).status == 0);
    CHECK(seconds_of(last_cell_time(pieces)) == newest + 1);
  }
  {
    const Clock behind(std::to_string(newest - 110).c_str());
    // An adoption is later than the pieces above, so that they don't count against it; a piece is later
    // again.
    REQUIRE(
        shop.run({"table", "adopt", "amber-jug", "--in-force", "--by", "Ann", "--reason", "again"}).status ==
        0);
    CHECK(table::read_history(shop.shop()).back().row.adopted_at == textfile::format_utc_time(newest + 2));
    REQUIRE(shop.log(2, 6).status == 0);
    CHECK(seconds_of(last_cell_time(pieces)) == newest + 3);
    REQUIRE(shop.row().at("status") == "stale");
    REQUIRE(shop.run(kCured).status == 0);
    CHECK(seconds_of(last_cell_time(shop.cured_file())) == newest + 4);
  }
  shop.check_whole();
  const Clock behind(std::to_string(newest + 4 - 120).c_str());
  CHECK(shop.log(5, 1).status == 2);
}

TEST_CASE("rows of a clock that was ahead are mended as the refusal says", "[program][clock]") {
  const AdoptedShop shop;
  const fs::path results = shop.folder() / "results";
  const std::string history = test::read_text(results / "settings-history.csv");
  {
    const Clock ahead("4102444800");  // 2100-01-01T00:00:00Z
    REQUIRE(shop.log(2, 6).status == 0);
    REQUIRE(shop.run(kCured).status == 0);
  }
  std::ofstream(shop.folder() / "one.csv") << "swatch,frost,chipping\nA1,1,0\n";
  const std::vector<std::string> grade{"grade",    "1", "--from", (shop.folder() / "one.csv").string(),
                                       "--grader", "Bo"};
  const test::Outcome refused = shop.run(grade);
  CAPTURE(refused.err);
  CHECK(refused.status == 2);
  const test::Outcome checked = shop.run({"check"});
  CHECK(checked.status == 1);
  CHECK_THAT(checked.out + checked.err,
             Contains("settings-history.csv:3: adopted_at: found 2100-01-01T00:00:00Z"));
  CHECK_THAT(refused.err,
             Contains("pieces.csv:2: logged_at: found 2100-01-01T00:00:00Z, but by this computer's clock "
                      "it is only ") &&
                 Contains(" (and 5 later rows like it), expected rows of before now") &&
                 Contains("if the times of the rows are wrong, correct them there") &&
                 Contains("cured-faults.csv:2: recorded_at: found 2100-01-01T00:00:00Z") &&
                 Contains("settings-history.csv:3: adopted_at: found 2100-01-01T00:00:00Z") &&
                 Contains("its checksum forbids to correct it, so put the file back from a copy; without "
                          "one, delete this line and all below it, delete settings-table.csv too, give "
                          "frostcal check --repair, and adopt again what those lines had adopted"));
  for (const char* name : {"pieces.csv", "cured-faults.csv"}) {
    std::string text = test::read_text(results / name);
    const std::string now = cli::now_text();
    for (std::size_t at = 0; (at = text.find("2100-01-01T00:00:00Z", at)) != std::string::npos;) {
      text.replace(at, 20, now);
    }
    std::ofstream(results / name) << text;
  }
  CHECK_THAT(shop.run(grade).err, Contains("settings-history.csv:3:") && !Contains("pieces.csv"));
  std::ofstream(results / "settings-history.csv") << history;  // without its third line
  fs::remove(results / "settings-table.csv");
  CHECK(shop.run({"check", "--repair"}).status == 0);
  for (const std::vector<std::string>& words : {grade,
                                                kRenew,
                                                {"log", "amber-jug", "--good", "--by", "Bo"},
                                                {"table", "restore", "amber-jug", "--none", "--by", "Ann"}}) {
    const test::Outcome ran = shop.run(words);
    CAPTURE(words, ran.out, ran.err);
    CHECK(ran.status == 0);
  }
  shop.check_whole();
}

TEST_CASE("check doubts rows that go back in time", "[program][clock]") {
  const AdoptedShop shop;
  REQUIRE(shop.log(5, 3).status == 0);
  shop.check_whole();
  // Two clocks that differ by seconds are no matter.
  const fs::path file = shop.folder() / "results" / "pieces.csv";
  std::string text = test::read_text(file);
  text.replace(text.rfind(",Bo,") + 4, 4, "2010");
  std::ofstream(file) << text;
  const test::Outcome check = shop.run({"check"});
  CAPTURE(check.out, check.err);
  CHECK(check.status == 0);
  CHECK_THAT(check.out + check.err, Contains("pieces.csv:4") && Contains("logged_at") && Contains("2010-"));

  // The history as a version wrote it that did not look at the clock.
  table::HistoryRow early = table::read_history(shop.shop()).back();
  early.row.adopted_at = "2010-01-01T00:00:00Z";
  REQUIRE_FALSE(table::record(shop.shop(), early, table::read_history(shop.shop())));
  const test::Outcome again = shop.run({"check"});
  CAPTURE(again.out, again.err);
  CHECK_THAT(again.out + again.err, Contains("settings-history.csv:3") && Contains("adopted_at"));
}

TEST_CASE("a second cured fault does not take what the first one excused for its own", "[program][cured]") {
  const AdoptedShop shop;
  wait_a_second();
  REQUIRE_THAT(shop.log(2, 8).out, Contains("STALE"));
  REQUIRE_THAT(shop.run(kCured).out, Contains("was found stale by those pieces"));
  REQUIRE(shop.log(5, 1).status == 0);
  const std::string today = cli::now_text().substr(0, 10);
  const test::Outcome second =
      shop.run({"log", "amber-jug", "--cured", "mirror", "--since", today, "--by", "Ann"});
  CAPTURE(second.out, second.err);
  REQUIRE(second.status == 0);
  CHECK_THAT(second.out, Contains("found stale by pieces that were set aside before") &&
                             Contains(kRenewCommand) && !Contains("by those pieces"));
}

TEST_CASE("where the setting is stale, fit, adopt and plan say the same: burn a grid",
          "[program][stale_advice]") {
  const AdoptedShop shop;
  const std::string why_now = "the setting in force is stale: this grid is to show what changed";
  const auto plan = [&] { return shop.run({"plan", "amber-jug", "--dry-run"}).out; };
  const std::string stale = "the setting in force is stale: burn a grid to learn what changed:";
  CHECK_THAT(shop.run({"fit", "amber-jug"}).out, !Contains(stale));
  CHECK_THAT(plan(), !Contains(why_now));
  wait_a_second();
  REQUIRE_THAT(shop.log(2, 8).out, Contains("STALE"));
  const test::Outcome fit = shop.run({"fit", "amber-jug"});
  CAPTURE(fit.out);
  CHECK_THAT(fit.out, Contains(stale) && Contains("frostcal plan amber-jug") && !Contains("stop:"));
  CHECK(json::parse(shop.run({"fit", "amber-jug", "--json"}).out).at("glass").at(0).at("stop") == false);
  CHECK_THAT(plan(), Contains(why_now) && !Contains("Stop?"));
  CHECK(json::parse(shop.run({"plan", "amber-jug", "--dry-run", "--json"}).out).at("stop") == false);
  const test::Outcome adopt = shop.run({"table", "adopt", "amber-jug", "--by", "Ann"});
  CAPTURE(adopt.out);
  REQUIRE(adopt.status == 1);
  CHECK_THAT(adopt.out, Contains("Burn a grid to learn what changed") && !Contains("said by"));
  REQUIRE(shop.run(kCured).status == 0);
  CHECK_THAT(shop.run({"fit", "amber-jug"}).out, !Contains(stale));
  CHECK_THAT(plan(), !Contains(why_now));
}

TEST_CASE("check doubts a log whose pieces or cured faults are gone", "[program][cured][check]") {
  const AdoptedShop shop;
  const fs::path pieces = shop.folder() / "results" / "pieces.csv";
  REQUIRE(shop.log(2, 6).status == 0);
  REQUIRE(shop.row().at("status") == "stale");
  const std::string logged = test::read_text(pieces);
  shop.check_whole();
  const std::string six =
      "expected the 6 that were counted on line 3 of settings-history.csv; bring the file back "
      "from a copy; if rows were deleted as slips, frostcal table adopt";
  const auto doubted = [&](const std::string& said) {
    const test::Outcome check = shop.run({"check"});
    CHECK(check.status == 0);
    CHECK_THAT(check.out + check.err, Contains(said) && Contains("(doubtful, not a fault)"));
  };
  fs::remove(pieces);
  doubted("pieces.csv: found no piece of amber-jug on bench logged until ");
  doubted(six);
  std::ofstream(pieces) << "";
  doubted("pieces.csv: found an empty file, expected a header row, and pieces if any were recorded");
  doubted(six);
  std::ofstream(pieces) << logged.substr(0, logged.find('\n') + 1);
  doubted(six);
  std::ofstream(pieces) << logged.substr(0, logged.rfind('\n', logged.size() - 2) + 1);
  doubted("found 5 pieces of amber-jug on bench logged until ");
  // What the message says of a slip.
  REQUIRE(shop.run({"table", "adopt", "amber-jug", "--machine", "bench", "--in-force", "--by", "Ann",
                    "--reason", "a slip in the log"})
              .status == 0);
  shop.check_whole();

  std::ofstream(pieces) << logged;
  const AdoptedShop other;
  REQUIRE(other.log(2, 6).status == 0);
  REQUIRE(other.run(kCured).status == 0);
  wait_a_second();
  REQUIRE(other.run(kRenew).status == 0);
  other.check_whole();
  const std::string cured = test::read_text(other.cured_file());
  fs::remove(other.cured_file());
  const test::Outcome gone = other.run({"check"});
  CHECK_THAT(
      gone.out + gone.err,
      Contains(
          "cured-faults.csv: found no such cured fault of bench, expected the one that is named on line 4 "
          "of settings-history.csv, \"6 pieces set aside: lens cleaned on "));
  std::ofstream(other.cured_file()) << "";
  CHECK_THAT(other.run({"check"}).out, Contains("cured-faults.csv: found an empty file"));
  std::ofstream(other.cured_file()) << cured;
  fs::remove(other.folder() / "results" / "pieces.csv");
  CHECK_THAT(other.run({"check"}).out, Contains("sets no piece aside") &&
                                           Contains("if pieces.csv lost rows, bring it back from a copy"));
}
