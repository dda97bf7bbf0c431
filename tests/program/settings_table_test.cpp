// The life of a setting from the command line: refused, adopted, quoted, logged, stale, restored, carried.
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "cli/dispatch.hpp"
#include "support/sample_shop.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using nlohmann::json;

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

// Grades by a rule of ours: even frost from 0.45 J/mm2 on, chips from 1.6 J/mm2 on.
void grade(const test::SampleShop& sample) {
  const std::filesystem::path file = sample.folder() / "in.csv";
  std::ofstream out(file);
  out << "swatch,frost,chipping\n";
  for (const design::Swatch& swatch : sample.grid().swatches) {
    const double dose = shop::dose_j_mm2(swatch.setting, sample.shop().machines.front());
    out << swatch.id << ',' << (dose < 0.3 ? 2 : dose < 0.45 ? 3 : 5) << ',' << (dose > 1.6 ? 2 : 0) << '\n';
  }
  out.close();
  REQUIRE(run(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"}).status == 0);
}

// One bottle alone leaves much doubt about the next: the shop of this test sells at 0.80.
void lower_target(const test::SampleShop& sample) {
  std::string text = shop::shop_template();
  const std::string target = "chance = 0.90";
  text.replace(text.find(target), target.size(), "chance = 0.80");
  std::ofstream(shop::shop_file(sample.folder())) << text;
}

void add_machine(const test::SampleShop& sample) {
  std::ofstream out(shop::shop_file(sample.folder()), std::ios::app);
  out << "\n[[machine]]\nname = \"barn\"\nrated_power_w = 90\ntop_speed_mm_s = 1000\nspot_mm = 0.14\n"
         "dpi = [250, 300, 500]\npower_pct = { min = 5, max = 100, step = 1 }\n"
         "speed_pct = { min = 5, max = 100, step = 1 }\nscreens = [\"ordered\"]\n";
}

}  // namespace

TEST_CASE("without grades every answer is an honest no", "[program][table]") {
  const test::SampleShop sample;
  CHECK(run(sample, {"table"}).status == 1);
  CHECK(json::parse(run(sample, {"table", "show", "--json"}).out).at("rows").empty());
  CHECK(run(sample, {"table", "history"}).status == 1);
  CHECK(run(sample, {"table", "export"}).status == 1);
  CHECK(run(sample, {"table", "restore", "amber-jug", "--by", "Ann"}).status == 1);
  CHECK(run(sample, {"table", "card", (sample.folder() / "wall.pdf").string()}).status == 1);
  CHECK(run(sample, {"job", "amber-jug", "--art", "60x40"}).status == 1);
  CHECK(run(sample, {"log", "amber-jug", "--good", "--by", "Ann"}).status == 1);
  const Ran refused = run(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--json"});
  CHECK(refused.status == 1);
  CHECK(json::parse(refused.out).at("adopted") == false);
  CHECK_FALSE(std::filesystem::exists(sample.folder() / "results" / "settings-history.csv"));
}

TEST_CASE("wrong command lines of the table are trouble, and write nothing", "[program][table]") {
  const test::SampleShop sample;
  const auto refused = [&](const std::vector<std::string>& words, const std::string& message) {
    const Ran ran = run(sample, words);
    CAPTURE(message);
    CHECK(ran.status == 2);
    CHECK_THAT(ran.err, Contains(message));
  };
  refused({"table", "adopt", "amber-jug"}, "--by is missing");
  refused({"table", "adopt", "amber-jg", "--by", "Ann"}, "did you mean amber-jug?");
  refused({"table", "adopt", "amber-jug", "--by", "Ann", "--power", "nan"}, "--power");
  refused({"table", "adopt", "amber-jug", "--by", "Ann", "--power", "60.5", "--speed", "40", "--dpi", "300"},
          "does not take 60.5 % power");
  refused({"table", "adopt", "amber-jug", "--by", "Ann", "--power", "60"}, "--speed is missing");
  refused({"table", "export", "--form", "xml"}, "expected csv, markdown or json");
  refused({"job", "amber-jug"}, "--art is missing");
  refused({"job", "amber-jug", "--art", "60"}, "expected WIDTHxHEIGHT");
  refused({"job", "amber-jug", "--art", "60x-4"}, "expected WIDTHxHEIGHT");
  refused({"log", "amber-jug", "--by", "Ann"}, "how did it come out?");
  refused({"log", "amber-jug", "--by", "Ann", "--frost", "7"}, "--frost");
  refused({"log", "amber-jug", "--by", "Ann", "--good", "--chipping", "2"}, "is not acceptable in this shop");
  refused({"carry", "amber-jug"}, "--to is missing");
  refused({"carry", "amber-jug", "--to", "barn"}, "no machine named \"barn\"");
  CHECK_FALSE(std::filesystem::exists(sample.folder() / "results"));
}

TEST_CASE("a setting is adopted, quoted, logged, found stale and restored", "[program][table]") {
  const test::SampleShop sample;
  grade(sample);
  lower_target(sample);
  add_machine(sample);
  const Ran adopted = run(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--json"});
  CAPTURE(adopted.out, adopted.err);
  REQUIRE(adopted.status == 0);
  const json row = json::parse(adopted.out).at("row");
  CHECK(row.at("chance") >= 0.8);
  CHECK(row.at("swatches") == 120);
  CHECK(row.at("grids") == json({"0001-amber-jug"}));
  CHECK(row.at("status") == "provisional");  // one bottle only

  const json job = json::parse(run(sample, {"job", "amber-jug", "--art", "76.2x50", "--json"}).out);
  CHECK(job.at("setting").at("power_pct") == row.at("power_pct"));
  CHECK(job.at("art_mm") == json({76.2, 50.0}));
  CHECK(job.at("lines") == std::lround(76.2 / 25.4 * row.at("dpi").get<double>()));
  CHECK_FALSE(job.at("cautions").empty());
  CHECK(run(sample, {"job", "amber-jug", "--art", "300x50"}).status == 1);
  const std::string card = (sample.folder() / "card.pdf").string();
  CHECK(run(sample, {"job", "amber-jug", "--art", "3x2", "--units", "in", "--card", card}).status == 0);
  CHECK(std::filesystem::file_size(card) > 1000);

  // A worse setting is refused, and taken with a reason.
  const std::vector<std::string> worse{"table", "adopt",   "amber-jug", "--by",  "Ann", "--power",
                                       "20",    "--speed", "65",        "--dpi", "300"};
  const Ran refused = run(sample, worse);
  CHECK(refused.status == 1);
  CHECK_THAT(refused.out, Contains("Not adopted"));
  auto with_reason = worse;
  with_reason.insert(with_reason.end(), {"--reason", "customer wants it faint"});
  CHECK(run(sample, with_reason).status == 0);
  CHECK(run(sample, {"table", "restore", "amber-jug", "--by", "Bo"}).status == 0);
  const json shown = json::parse(run(sample, {"table", "--json"}).out).at("rows").at(0);
  CHECK(shown.at("power_pct") == row.at("power_pct"));
  CHECK(shown.at("reason") == "row 1 again");

  // Eight rejects in a row are beyond chance for any promise of 0.8 or more.
  const Ran logged =
      run(sample, {"log", "amber-jug", "--frost", "2", "--chipping", "0", "--pieces", "8", "--by", "Bo"});
  CHECK(logged.status == 0);
  CHECK_THAT(logged.out, Contains("STALE"));
  CHECK(json::parse(run(sample, {"table", "--json"}).out).at("rows").at(0).at("status") == "stale");
  CHECK_THAT(run(sample, {"job", "amber-jug", "--art", "60x40"}).out, Contains("The setting is stale"));
  const json fit = json::parse(run(sample, {"fit", "amber-jug", "--json"}).out);
  CHECK(fit.at("glass").at(0).at("swatches") == 128);  // the pieces are evidence

  const json history = json::parse(run(sample, {"table", "history", "amber-jug", "--json"}).out).at("rows");
  REQUIRE(history.size() == 4);
  CHECK(history[1].at("reason") == "customer wants it faint");
  CHECK(history[3].at("action") == "stale");

  const json carried = json::parse(run(sample, {"carry", "amber-jug", "--to", "barn", "--json"}).out);
  CHECK(carried.at("way") == "surface");
  CHECK(carried.at("setting").at("screen") == "ordered");
  CHECK_THAT(carried.at("plan").get<std::string>(), Contains("frostcal plan amber-jug --machine barn"));
  CHECK(run(sample, {"check"}).status == 0);
}
