// The life of a setting from the command line: refused, adopted, quoted, logged, stale, restored, carried.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>

#include "support/grades_by_dose.hpp"
#include "support/in_process.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using nlohmann::json;
using test::run_in_process;

namespace {

void grade(const test::SampleShop& sample, int even_frost = 5) {
  const std::filesystem::path file = sample.folder() / "in.csv";
  std::ofstream(file) << test::grades_by_dose(sample.grid(), sample.shop().machines.front(), even_frost);
  REQUIRE(run_in_process(sample, {"grade", "1", "--from", file.string(), "--grader", "Ann"}).status == 0);
}

void put_in_force(const test::SampleShop& sample) {
  REQUIRE(run_in_process(sample, {"table", "adopt", "amber-jug", "--power", "60", "--speed", "40", "--dpi",
                                  "300", "--by", "Ann", "--reason", "fair"})
              .status == 0);
}

// One bottle alone leaves much doubt about the next: the shop of this test sells at 0.80.
void lower_target(const test::SampleShop& sample) {
  std::string text = shop::shop_template();
  const std::string target = "chance = 0.90";
  text.replace(text.find(target), target.size(), "chance = 0.80");
  std::ofstream(shop::shop_file(sample.folder())) << text;
}

void add_machine(const test::SampleShop& sample, const std::string& name = "barn") {
  std::ofstream out(shop::shop_file(sample.folder()), std::ios::app);
  out << "\n[[machine]]\nname = \"" << name
      << "\"\nrated_power_w = 90\ntop_speed_mm_s = 1000\nspot_mm = 0.14\n"
         "dpi = [250, 300, 500]\npower_pct = { min = 5, max = 100, step = 1 }\n"
         "speed_pct = { min = 5, max = 100, step = 1 }\nscreens = [\"ordered\"]\n";
}

}  // namespace

TEST_CASE("without grades every answer is an honest no", "[program][table]") {
  const test::SampleShop sample;
  CHECK(run_in_process(sample, {"table"}).status == 1);
  CHECK(json::parse(run_in_process(sample, {"table", "show", "--json"}).out).at("rows").empty());
  CHECK(run_in_process(sample, {"table", "history"}).status == 1);
  CHECK(run_in_process(sample, {"table", "export"}).status == 1);
  CHECK(run_in_process(sample, {"table", "restore", "amber-jug", "--by", "Ann"}).status == 1);
  CHECK(run_in_process(sample, {"table", "card", (sample.folder() / "wall.pdf").string()}).status == 1);
  CHECK(run_in_process(sample, {"job", "amber-jug", "--art", "60x40"}).status == 1);
  CHECK(run_in_process(sample, {"log", "amber-jug", "--good", "--by", "Ann"}).status == 1);
  const test::Outcome refused =
      run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--json"});
  CHECK(refused.status == 1);
  CHECK(json::parse(refused.out).at("adopted") == false);
  CHECK(json::parse(refused.out).at("proposed").is_null());  // nothing is graded
  CHECK_FALSE(std::filesystem::exists(sample.folder() / "results" / "settings-history.csv"));
}

TEST_CASE("wrong command lines of the table are trouble, and write nothing", "[program][table]") {
  const test::SampleShop sample;
  const auto refused = [&](const std::vector<std::string>& words, const std::string& message) {
    const test::Outcome ran = run_in_process(sample, words);
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
  refused({"table", "adopt", "amber-jug", "--by", "Ann", "--power", "60", "--speed", "40", "--dpi", "350"},
          "does not take 350 dpi (it takes 200, 250, 300");
  refused({"table", "adopt", "amber-jug", "--by", "Ann", "--power", "60", "--speed", "40", "--dpi", "300",
           "--screen", "none"},
          "the screen \"none\" (it offers ");
  refused({"table", "adpot", "amber-jug", "--by", "Ann"}, "Did you mean frostcal table adopt?");
  refused({"table", "history", "amber-jg"}, "did you mean amber-jug?");
  refused({"table", "restore", "amber-jg", "--by", "Ann"}, "did you mean amber-jug?");
  refused({"table", "export", "--form", "xml"}, "expected csv, markdown or json");
  refused({"job", "amber-jug"}, "--art is missing");
  refused({"job", "amber-jug", "--art", "60"}, "expected WIDTHxHEIGHT");
  refused({"job", "amber-jug", "--art", "60x-4"}, "expected WIDTHxHEIGHT");
  refused({"log", "amber-jug", "--by", "Ann"}, "how did it come out?");
  refused({"log", "amber-jug", "--by", "Ann", "--frost", "7"}, "--frost");
  refused({"log", "amber-jug", "--by", "Ann", "--good", "--chipping", "2"}, "is not acceptable in this shop");
  refused({"log", "amber-jug", "--by", "Ann", "--good", "--minutes", "5"}, "--minutes needs --art");
  refused({"log", "amber-jug", "--by", "Ann", "--good", "--art", "60x40"}, "--art needs --minutes");
  refused({"carry", "amber-jug"}, "--to is missing");
  refused({"carry", "amber-jug", "--to", "barn"}, "no machine named \"barn\"");
  CHECK_FALSE(std::filesystem::exists(sample.folder() / "results"));
}

TEST_CASE("lighter art gets the chance that fit gives it, not the one that was adopted", "[program][table]") {
  const test::SampleShop sample;
  grade(sample);
  lower_target(sample);
  std::string text = test::read_text(shop::shop_file(sample.folder()));
  const std::string solid = "tone_pct = { min = 100,";
  text.replace(text.find(solid), solid.size(), "tone_pct = { min = 20,");
  std::ofstream(shop::shop_file(sample.folder())) << text;
  const test::Outcome adopted = run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann",
                                                        "--json", "--tone", "100", "--reason", "solid art"});
  CAPTURE(adopted.out, adopted.err);
  REQUIRE(adopted.status == 0);
  const json row = json::parse(adopted.out).at("row");
  const json light = json::parse(
      run_in_process(sample, {"job", "amber-jug", "--art", "60x40", "--tone", "60", "--json"}).out);
  const json light_fit = json::parse(
      run_in_process(sample, {"fit", "amber-jug", "--json", "--at",
                              "power=" + std::to_string(row.at("power_pct").get<double>()) +
                                  ",speed=" + std::to_string(row.at("speed_pct").get<double>()) +
                                  ",dpi=" + std::to_string(row.at("dpi").get<int>()) + ",tone=60"})
          .out);
  CHECK(light.at("setting").at("tone_pct") == 60);
  CHECK(light.at("status") == "not adopted");
  CHECK(light.at("chance").get<double>() ==
        Approx(light_fit.at("at")[0].at("chance").get<double>()).margin(2e-3));
  CHECK(light.at("chance_high").get<double>() - light.at("chance_low").get<double>() >
        row.at("chance_high").get<double>() - row.at("chance_low").get<double>());
  const std::string light_text =
      run_in_process(sample, {"job", "amber-jug", "--art", "60x40", "--tone", "60"}).out;
  CHECK_THAT(light_text, Contains("adopted for 100 %") && Contains("burned only at a tone of 100 %"));
  CHECK(run_in_process(sample, {"job", "amber-jug", "--art", "60x40", "--tone", "100", "--json"}).out ==
        run_in_process(sample, {"job", "amber-jug", "--art", "60x40", "--json"}).out);
  const test::Outcome odd_tone =
      run_in_process(sample, {"job", "amber-jug", "--art", "60x40", "--tone", "61"});
  CHECK(odd_tone.status == 2);
  CHECK_THAT(odd_tone.err, Contains("61 % tone (it takes 20 to 100 in steps of 10)"));
}

TEST_CASE("a setting is adopted, quoted, logged, found stale and restored", "[program][table]") {
  const test::SampleShop sample;
  grade(sample);
  lower_target(sample);
  add_machine(sample);
  const test::Outcome adopted =
      run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--json"});
  CAPTURE(adopted.out, adopted.err);
  REQUIRE(adopted.status == 0);
  const json row = json::parse(adopted.out).at("row");
  const json proposed = json::parse(adopted.out).at("proposed");
  for (const char* of : {"power_pct", "speed_pct", "dpi", "chance", "chance_low", "tolerance_pct"})
    CHECK(std::abs(row.at(of).get<double>() - proposed.at(of).get<double>()) < 1e-3);
  CHECK(row.at("chance") >= 0.8);
  CHECK(row.at("swatches") == 120);
  CHECK(row.at("grids") == json({"0001-amber-jug"}));
  CHECK(row.at("status") == "provisional");  // one bottle only

  const json job =
      json::parse(run_in_process(sample, {"job", "amber-jug", "--art", "76.2x50", "--json"}).out);
  CHECK(job.at("setting").at("power_pct") == row.at("power_pct"));
  CHECK(job.at("art_mm") == json({76.2, 50.0}));
  CHECK(job.at("batch_by") == "surface");
  const json batch = json::parse(
      run_in_process(sample, {"job", "amber-jug", "--art", "76.2x50", "--pieces", "12", "--json"}).out);
  CHECK(batch.at("batch_by") == "surface");
  CHECK(batch.at("no_reject").get<double>() > std::pow(batch.at("chance_now").get<double>(), 12));
  CHECK(batch.at("bottles_to_bring").get<int>() >= 12);
  CHECK(batch.at("batch_seconds").get<double>() ==
        Approx(12 * (batch.at("burn_seconds").get<double>() + 120)).epsilon(1e-12));
  CHECK(batch.at("rejects_low") <= batch.at("rejects_high"));
  CHECK(batch.at("rejects").get<double>() ==
        Approx(12 * (1 - batch.at("chance_now").get<double>())).margin(0.02));
  // A taper that draws the scan lines at the neck end of 40 mm of art as near to one another as another dpi.
  const int dpi = row.at("dpi").get<int>();
  const int other =
      std::map<int, int>{{200, 250}, {250, 300}, {300, 400}, {400, 500}, {500, 600}, {600, 500}}.at(dpi);
  const double neck_end = 80.0 * dpi / other;
  std::ofstream(shop::shop_file(sample.folder()), std::ios::app)
      << "\n[[vessel]]\nname = \"steep\"\ndiameter_mm = { at_neck = " << 80 - (80 - neck_end) * 45 / 20
      << ", at_base = " << 80 + (80 - neck_end) * 45 / 20 << " }\npanel_mm = 90\nseams = 0\n";
  const std::vector<std::string> on_steep{"job", "amber-jug", "--art", "60x40", "--vessel", "steep"};
  std::vector<std::string> steep_json = on_steep;
  steep_json.push_back("--json");
  const json steep = json::parse(run_in_process(sample, steep_json).out);
  const json at =
      json::parse(run_in_process(sample, {"fit", "amber-jug", "--json", "--at",
                                          "power=" + std::to_string(row.at("power_pct").get<double>()) +
                                              ",speed=" + std::to_string(row.at("speed_pct").get<double>()) +
                                              ",dpi=" + std::to_string(other) +
                                              ",tone=" + std::to_string(row.at("tone_pct").get<double>())})
                      .out);
  const json& places = steep.at("art_places");
  REQUIRE(places.size() == 3);
  CHECK(places[1].at("name") == "neck end");
  CHECK(std::abs(places[1].at("chance").get<double>() - at.at("at")[0].at("chance").get<double>()) < 2e-3);
  double least = 1;
  for (const json& place : places) least = std::min(least, place.at("chance").get<double>());
  CHECK(steep.at("chance_at_worst") == least);
  CHECK(steep.at("no_reject") == steep.at("chance_whole_art"));
  CHECK(steep.at("chance_whole_art") <= steep.at("chance_at_worst"));
  CHECK(least < steep.at("chance_now").get<double>());
  CHECK_THAT(run_in_process(sample, on_steep).out, Contains("Taper") && Contains("at the neck end"));
  CHECK_THAT(run_in_process(sample, {"job", "amber-jug", "--art", "60x80", "--vessel", "steep"}).out,
             Contains("The bottle tapers: over the whole art"));
  CHECK_THAT(run_in_process(sample, {"job", "amber-jug", "--art", "3x2"}).out, Contains("--units in"));
  CHECK_THAT(run_in_process(sample, {"job", "amber-jug", "--art", "76x50", "--units", "in"}).out,
             Contains("--units mm"));
  const test::Outcome nowhere =
      run_in_process(sample, {"job", "amber-jug", "--art", "60x40", "--card", "/no-such-folder/card.pdf"});
  CHECK(nowhere.status == 2);
  CHECK_THAT(nowhere.err, Contains("make the folder /no-such-folder first"));
  CHECK(job.at("lines") == std::lround(76.2 / 25.4 * row.at("dpi").get<double>()));
  CHECK_FALSE(job.at("cautions").empty());
  CHECK(run_in_process(sample, {"job", "amber-jug", "--art", "300x50"}).status == 1);
  const std::string card = (sample.folder() / "card.pdf").string();
  CHECK(
      run_in_process(sample, {"job", "amber-jug", "--art", "3x2", "--units", "in", "--card", card}).status ==
      0);
  CHECK(std::filesystem::file_size(card) > 1000);
  CHECK_THAT(run_in_process(sample, {"job", "amber-jug", "--art", "60x40", "--card", card}).err,
             Contains("Wrote " + card));

  // A worse setting is refused, and taken with a reason.
  const std::vector<std::string> worse{"table", "adopt",   "amber-jug", "--by",  "Ann", "--power",
                                       "20",    "--speed", "65",        "--dpi", "300"};
  const test::Outcome refused = run_in_process(sample, worse);
  CHECK(refused.status == 1);
  CHECK_THAT(refused.out, Contains("Not adopted"));
  auto with_reason = worse;
  with_reason.insert(with_reason.end(), {"--reason", "customer wants it faint"});
  CHECK(run_in_process(sample, with_reason).status == 0);
  const test::Outcome restored =
      run_in_process(sample, {"table", "restore", "amber-jug", "--by", "Bo", "--json"});
  CAPTURE(restored.err);
  REQUIRE(restored.status == 0);
  CHECK(json::parse(restored.out).at("rows").at(0).at("power_pct") == row.at("power_pct"));
  const json shown = json::parse(run_in_process(sample, {"table", "--json"}).out).at("rows").at(0);
  CHECK(shown.at("power_pct") == row.at("power_pct"));
  CHECK(shown.at("reason") == "row 1 again");

  // Eight rejects in a row are beyond chance for any promise of 0.8 or more.
  const test::Outcome logged = run_in_process(
      sample, {"log", "amber-jug", "--frost", "2", "--chipping", "0", "--pieces", "8", "--by", "Bo"});
  CHECK(logged.status == 0);
  CHECK_THAT(logged.out,
             Contains("STALE") && Contains("8 of 8 pieces at the setting in force rejected since"));
  const test::Outcome after = run_in_process(sample, {"log", "amber-jug", "--good", "--by", "Bo"});
  CHECK_THAT(after.out, Contains("The setting in force is stale") && Contains("since it was found so on"));
  CHECK_THAT(run_in_process(sample, {"table"}).out, Contains("it no longer holds"));
  CHECK_THAT(run_in_process(sample, {"job", "amber-jug", "--art", "60x40"}).out,
             Contains("when adopted") && Contains("Today"));
  CHECK(json::parse(run_in_process(sample, {"table", "--json"}).out).at("rows").at(0).at("status") ==
        "stale");
  CHECK_THAT(run_in_process(sample, {"job", "amber-jug", "--art", "60x40"}).out,
             Contains("The setting is stale"));
  const json fit = json::parse(run_in_process(sample, {"fit", "amber-jug", "--json"}).out);
  CHECK(fit.at("glass").at(0).at("swatches") == 120);
  CHECK(fit.at("glass").at(0).at("pieces") == 9);  // evidence too
  CHECK_THAT(run_in_process(sample, {"fit", "amber-jug"}).out, Contains("In force") && Contains("(stale)"));
  const test::Outcome again =
      run_in_process(sample, {"table", "adopt", "amber-jug", "--in-force", "--by", "Ann"});
  CHECK(again.status == 1);
  CHECK_THAT(again.out, Contains("what changed was not measured since"));

  const json history =
      json::parse(run_in_process(sample, {"table", "history", "amber-jug", "--json"}).out).at("rows");
  REQUIRE(history.size() == 4);
  CHECK(history[1].at("reason") == "customer wants it faint");
  CHECK(history[3].at("action") == "stale");

  const json carried =
      json::parse(run_in_process(sample, {"carry", "amber-jug", "--to", "barn", "--json"}).out);
  CHECK(carried.at("way") == "surface");
  CHECK(carried.at("setting").at("screen") == "ordered");
  CHECK_THAT(carried.at("plan").get<std::string>(), Contains("frostcal plan amber-jug --machine barn"));
  CHECK(run_in_process(sample, {"check"}).status == 0);
}

TEST_CASE("a row's chance was for another bar than shop.toml has now: job says today's", "[program][table]") {
  const test::SampleShop sample;
  grade(sample, 4);
  lower_target(sample);
  REQUIRE(
      run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--reason", "a test"}).status ==
      0);
  const std::vector<std::string> job{"job", "amber-jug", "--art", "60x40"};
  CHECK_THAT(run_in_process(sample, job).out,
             !Contains("present bar") && !Contains("under the shop's target"));
  std::string raised = test::read_text(shop::shop_file(sample.folder()));
  raised.replace(raised.find("frost = 4"), 9, "frost = 5");
  std::ofstream(shop::shop_file(sample.folder())) << raised;
  const test::Outcome other_bar = run_in_process(sample, job);
  CHECK_THAT(other_bar.out, Contains("when adopted") && Contains("present bar (frost 5 or better") &&
                                Contains("under the shop's target of 0.80"));
  CHECK_THAT(run_in_process(sample, {"table"}).out, Contains("by the bar of that day"));
}

TEST_CASE("timed burns replace the turnaround of shop.toml from the third on", "[program][table]") {
  const test::SampleShop sample;
  const auto log = [&](const std::string& minutes) {
    return run_in_process(sample, {"log", "amber-jug", "--good", "--by", "Ann", "--power", "60", "--speed",
                                   "40", "--dpi", "300", "--art", "60x40", "--minutes", minutes});
  };
  const auto job = [&] { return run_in_process(sample, {"job", "amber-jug", "--art", "60x40", "--json"}); };
  grade(sample);
  REQUIRE(run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--power", "60", "--speed",
                                  "40", "--dpi", "300", "--reason", "a test"})
              .status == 0);
  // 709 lines of 40 mm at 480 mm/s, 59.1 s of scanning; with 0.09 s of turnaround 2.05 min.
  CHECK_THAT(log("2.05").out, Contains("lost 0.09 s at the end of each line; shop.toml says 0.05 s"));
  // At most 1 s of turnaround a line is believed: 768 s.
  for (const char* wrong : {"0.9", "13"}) {
    const test::Outcome refused = log(wrong);
    CHECK(refused.status == 2);
    CHECK_THAT(refused.err,
               Contains("expected 0.97 to 12.8 minutes") && Contains("60.0 mm round the bottle"));
  }
  const std::filesystem::path file = sample.folder() / "results" / "pieces.csv";
  std::string by_hand = test::read_text(file);
  CHECK(std::count(by_hand.begin(), by_hand.end(), '\n') == 2);  // nothing of them is kept
  std::string row = by_hand.substr(by_hand.find('\n') + 1);
  row.replace(row.find(",123.00,"), 8, ",54.00,");
  std::ofstream(file) << by_hand + row;
  log("2.05");
  json quoted = json::parse(job().out);
  CHECK(quoted.at("timed_burns") == 2);
  CHECK(quoted.at("turnaround_s") == 0.05);
  CHECK_THAT(quoted.at("burn_seconds").get<double>(),
             Catch::Matchers::WithinAbs(709 * (40.0 / 480 + 0.05), 1e-6));
  // Logged in one second, so the hands differ.
  run_in_process(sample, {"log", "amber-jug", "--good", "--by", "Bo", "--art", "60x40", "--minutes", "2.1"});
  const test::Outcome ran = job();
  CHECK_THAT(ran.err, Contains("pieces.csv line 3: a burn time that can't be true"));
  quoted = json::parse(ran.out);
  CHECK(quoted.at("timed_burns") == 3);
  CHECK(quoted.at("timed_burns_unused") == 1);
  CHECK(quoted.at("turnaround_shop_s") == 0.05);
  CHECK_THAT(quoted.at("burn_seconds").get<double>(), Catch::Matchers::WithinAbs(123.0, 0.5));
  CHECK_THAT(run_in_process(sample, {"job", "amber-jug", "--art", "60x40"}).out,
             Contains("a line, the median of 3 timed burns"));
  CHECK(run_in_process(sample, {"check"}).status == 0);
}

TEST_CASE("job and log take the machine that has a setting for the glass", "[program][table]") {
  const test::SampleShop sample;
  add_machine(sample);
  grade(sample);  // on the first machine
  REQUIRE(run_in_process(sample,
                         {"table", "adopt", "amber-jug", "--machine", "barn", "--by", "Ann", "--power", "60",
                          "--speed", "40", "--dpi", "300", "--screen", "ordered", "--reason", "a test"})
              .status == 0);
  const json job = json::parse(run_in_process(sample, {"job", "amber-jug", "--art", "60x40", "--json"}).out);
  CHECK(job.at("machine") == "barn");
  const json logged =
      json::parse(run_in_process(sample, {"log", "amber-jug", "--good", "--by", "Ann", "--json"}).out);
  CHECK(logged.at("machine") == "barn");
  const std::string pieces = test::read_text(sample.folder() / "results" / "pieces.csv");
  CHECK_THAT(pieces, Contains(",>=4,0,"));
  CHECK_THAT(run_in_process(sample, {"log", "amber-jug", "--frost", "4", "--by", "Ann"}).out,
             Contains("neither as good nor as a reject"));
  const test::Outcome none =
      run_in_process(sample, {"table", "restore", "amber-jug", "--none", "--by", "Ann", "--json"});
  CHECK(none.status == 0);
  CHECK(json::parse(none.out).at("rows").empty());
  CHECK(run_in_process(sample, {"table"}).status == 1);
}

TEST_CASE("where a glass has settings on two machines, which is meant must be said", "[program][table]") {
  const test::SampleShop sample;
  add_machine(sample);
  grade(sample);  // on the first machine
  const auto adopt = [&](const std::string& machine) {
    return run_in_process(sample, {"table", "adopt", "amber-jug", "--machine", machine, "--by", "Ann",
                                   "--power", "60", "--speed", "40", "--dpi", "300", "--reason", "a test"})
        .status;
  };
  REQUIRE(adopt("bench") == 0);
  REQUIRE(run_in_process(sample, {"log", "amber-jug", "--good", "--by", "Ann"}).out.find("on bench") !=
          std::string::npos);
  REQUIRE(adopt("barn") == 0);
  const std::string pieces = test::read_text(sample.folder() / "results" / "pieces.csv");
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"log", "amber-jug", "--good", "--by", "Ann"},
        {"job", "amber-jug", "--art", "60x40"},
        {"table", "restore", "amber-jug", "--none", "--by", "Ann"}}) {
    const test::Outcome refused = run_in_process(sample, words);
    CHECK(refused.status == 2);
    CHECK_THAT(refused.err, Contains("barn and bench") && Contains("--machine"));
  }
  CHECK(test::read_text(sample.folder() / "results" / "pieces.csv") == pieces);
  CHECK_THAT(run_in_process(sample, {"log", "amber-jug", "--machine", "barn", "--good", "--by", "Ann"}).out,
             Contains("on barn"));
  REQUIRE(
      run_in_process(sample, {"table", "restore", "amber-jug", "--machine", "barn", "--none", "--by", "Ann"})
          .status == 0);
  CHECK_THAT(run_in_process(sample, {"log", "amber-jug", "--good", "--by", "Ann"}).out, Contains("on bench"));
}

TEST_CASE("carry from a machine that knows less says what table adopt will say", "[program][table]") {
  const test::SampleShop sample;
  add_machine(sample);
  add_machine(sample, "shed");
  grade(sample);  // on the first machine, bench
  REQUIRE(run_in_process(sample,
                         {"table", "adopt", "amber-jug", "--machine", "barn", "--by", "Ann", "--power", "60",
                          "--speed", "40", "--dpi", "300", "--screen", "ordered", "--reason", "a test"})
              .status == 0);
  const json usual =
      json::parse(run_in_process(sample, {"carry", "amber-jug", "--to", "shed", "--json"}).out);
  CHECK(usual.at("from") == "bench");
  CHECK(usual.at("adopt_from").is_null());
  const std::vector<std::string> named{"carry", "amber-jug", "--to", "shed", "--from", "barn"};
  CHECK_THAT(run_in_process(sample, named).out,
             Contains("table adopt will say ") && Contains("by bench, which knows most of"));
  std::vector<std::string> as_json = named;
  as_json.push_back("--json");
  const json carried = json::parse(run_in_process(sample, as_json).out);
  CHECK(carried.at("adopt_from") == "bench");
  const json& dials = carried.at("setting");
  const auto dial = [&](const char* key) { return std::to_string(dials.at(key).get<int>()); };
  const json adopted =
      json::parse(run_in_process(sample, {"table", "adopt", "amber-jug", "--machine", "shed", "--by", "Ann",
                                          "--power", dial("power_pct"), "--speed", dial("speed_pct"), "--dpi",
                                          dial("dpi"), "--screen", dials.at("screen").get<std::string>(),
                                          "--reason", "a test", "--json"})
                      .out);
  CHECK(adopted.at("row").at("chance") == carried.at("adopt_chance"));
  // Nothing is graded on shed, so fit has nothing else to say of it, best setting or another.
  const json fit =
      json::parse(run_in_process(sample, {"fit", "amber-jug", "--machine", "shed", "--json", "--at",
                                          "power=" + dial("power_pct") + ",speed=" + dial("speed_pct") +
                                              ",dpi=" + dial("dpi")})
                      .out);
  const json& best = fit.at("glass").at(0).at("best");
  CHECK(best.at("chance") == usual.at("chance"));
  CHECK(best.at("power_pct") == usual.at("setting").at("power_pct"));
  CHECK(fit.at("at").at(0).at("chance") == carried.at("adopt_chance"));
  CHECK(fit.at("glass").at(0).at("expected_gain").is_null());
  const std::filesystem::path report = sample.folder() / "report.pdf";
  const test::Outcome pages = run_in_process(sample, {"fit", "amber-jug", "--machine", "shed", "--prefer",
                                                      "fast", "--map", "--report", report.string()});
  CHECK_THAT(pages.out, Contains("confirm it by a grid on shed") &&
                            Contains("No page in the report of amber-jug") &&
                            Contains("No map of amber-jug on shed") && Contains("--prefer says nothing"));
  CHECK_FALSE(std::filesystem::exists(report));
  const json proposed =
      json::parse(run_in_process(sample, {"table", "adopt", "amber-jug", "--machine", "shed", "--by", "Ann",
                                          "--reason", "carried", "--json"})
                      .out);
  CHECK(proposed.at("row").at("chance") == usual.at("chance"));
}

TEST_CASE("a provisional setting is settled by its pieces, and renewed when asked", "[program][table]") {
  const test::SampleShop sample;
  grade(sample);  // one bottle only
  lower_target(sample);
  REQUIRE(run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann"}).status == 0);
  const auto status = [&] {
    return json::parse(run_in_process(sample, {"table", "--json"}).out)
        .at("rows")
        .at(0)
        .at("status")
        .get<std::string>();
  };
  CHECK(status() == "provisional");
  CHECK_THAT(run_in_process(sample, {"table"}).out,
             Contains("provisional") && Contains("1 of 2 bottles are burned"));
  const auto log = [&](const std::string& pieces) {
    return run_in_process(
        sample, {"log", "amber-jug", "--frost", "5", "--chipping", "0", "--by", "Bo", "--pieces", pieces});
  };
  CHECK(log("23").status == 0);
  CHECK(status() == "provisional");
  CHECK_THAT(log("1").out, Contains("The setting in force is settled now"));
  // The promise is the old one, so that the 24 pieces go on testing it.
  const json next =
      json::parse(run_in_process(sample, {"log", "amber-jug", "--good", "--by", "Bo", "--json"}).out);
  CHECK(next.at("promised") > 0.9);
  CHECK(next.at("pieces") == 25);
  CHECK(status() == "settled");
  const json row = json::parse(run_in_process(sample, {"table", "--json"}).out).at("rows").at(0);
  CHECK(row.at("swatches") == 120);
  CHECK(row.at("bottles") == 1);
  CHECK(row.at("reason") == "settled with 24 pieces logged at it");
  CHECK(row.at("chance_low") < row.at("chance"));  // the promise is held back, the doubt stays
  CHECK(json::parse(run_in_process(sample, {"table", "history", "--json"}).out).at("rows").size() == 2);
  CHECK_THAT(log("1").out, !Contains("settled now"));  // said once

  const test::Outcome renewed =
      run_in_process(sample, {"table", "adopt", "amber-jug", "--in-force", "--by", "Ann"});
  CHECK(renewed.status == 0);
  CHECK_THAT(renewed.out, Contains("The setting in force stays; its evidence is renewed (settled)"));
  CHECK_THAT(renewed.out, Contains("beside them 26 logged pieces, 26 at this setting"));
  CHECK(run_in_process(sample, {"table", "adopt", "amber-jug", "--in-force", "--power", "50", "--by", "Ann"})
            .status == 2);
  CHECK(run_in_process(sample, {"check"}).status == 0);
}

TEST_CASE("a setting whose grades are gone is a fault of the shop", "[program][table][check]") {
  const test::SampleShop sample;
  grade(sample);
  lower_target(sample);
  REQUIRE(run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann"}).status == 0);
  CHECK(run_in_process(sample, {"check"}).status == 0);
  std::filesystem::remove(sample.results());
  const test::Outcome check = run_in_process(sample, {"check"});
  CHECK(check.status == 1);
  CHECK_THAT(check.out + check.err,
             Contains("0001-amber-jug.csv: found no such file, expected the grades that "
                      "the setting in force for amber-jug rests on"));
}

TEST_CASE("a folder where the grades of a setting in force should be is a fault of the shop",
          "[program][table][check]") {
  const test::SampleShop sample;
  grade(sample);
  lower_target(sample);
  REQUIRE(run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--reason", "x"}).status ==
          0);
  std::filesystem::remove(sample.results());
  std::filesystem::create_directory(sample.results());
  const test::Outcome checked = run_in_process(sample, {"check"});
  CHECK(checked.status == 1);
  CHECK_THAT(
      checked.out,
      Contains("results/0001-amber-jug.csv: found something that is not a file, expected the grades that "
               "the setting in force for amber-jug rests on"));
}

TEST_CASE("check names adoptions that are gone from the history", "[program][table]") {
  const test::SampleShop sample;
  grade(sample);
  lower_target(sample);
  const std::filesystem::path history = sample.folder() / "results" / "settings-history.csv";
  const std::filesystem::path table = sample.folder() / "results" / "settings-table.csv";
  REQUIRE(run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann"}).status == 0);
  const std::string one = test::read_text(history);
  const std::string derived = test::read_text(table);
  SECTION("the last: only the table still has it") {
    std::ofstream(history) << one.substr(0, one.find('\n') + 1);
    for (const std::vector<std::string>& words :
         {std::vector<std::string>{"check"}, std::vector<std::string>{"check", "--repair"}}) {
      const test::Outcome ran = run_in_process(sample, words);
      CHECK(ran.status == 1);
      CHECK_THAT(ran.out, Contains("settings-history.csv: found no row for amber-jug on bench of 2") &&
                              Contains("its last rows were lost: put the history back from a copy") &&
                              Contains("1 fault."));
      CHECK(test::read_text(table) == derived);
    }
    std::filesystem::remove(table);
    CHECK(run_in_process(sample, {"check"}).status == 0);
  }
  SECTION("an earlier one: no command goes on with it") {
    REQUIRE(run_in_process(sample, {"table", "adopt", "amber-jug", "--in-force", "--by", "Ann"}).status == 0);
    std::string text = test::read_text(history);
    text.erase(one.find('\n') + 1, one.size() - one.find('\n') - 1);
    std::ofstream(history) << text;
    const test::Outcome ran = run_in_process(sample, {"check"});
    CHECK(ran.status == 1);
    CHECK_THAT(ran.out, Contains("settings-history.csv:2:") &&
                            Contains("rows above line 2 were deleted or moved; put the file back"));
    CHECK(run_in_process(sample, {"table"}).status == 2);
    CHECK(run_in_process(sample, {"table", "restore", "amber-jug", "--by", "Ann"}).status == 2);
    CHECK(test::read_text(history) == text);
  }
}

TEST_CASE("a lost history is not buried by the next adoption", "[program][table]") {
  const test::SampleShop sample;
  grade(sample);
  const auto adopt = [&](const std::string& power) {
    return run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--power", power, "--speed",
                                   "40", "--dpi", "300", "--reason", "a test"});
  };
  REQUIRE(adopt("60").status == 0);
  const std::filesystem::path results = sample.folder() / "results";
  std::filesystem::rename(results / "settings-history.csv", sample.folder() / "copy.csv");
  const std::string table = test::read_text(results / "settings-table.csv");
  const auto is_lost = [](const std::string& text) {
    return text.find("settings-history.csv: found no row for amber-jug on bench") != std::string::npos &&
           text.find("put the history back from a copy") != std::string::npos;
  };
  const std::vector<std::vector<std::string>> changes{
      {"table", "restore", "amber-jug", "--by", "Ann"},
      {"table", "restore", "amber-jug", "--none", "--by", "Ann"},
      {"log", "amber-jug", "--good", "--by", "Ann", "--power", "60", "--speed", "40", "--dpi", "300"}};
  CHECK(adopt("70").status == 2);
  CHECK(is_lost(adopt("70").err));
  for (const std::vector<std::string>& words : changes) {
    CAPTURE(words);
    const test::Outcome refused = run_in_process(sample, words);
    CHECK(refused.status == 2);
    CHECK(is_lost(refused.err));
  }
  CHECK_FALSE(std::filesystem::exists(results / "pieces.csv"));
  for (const std::vector<std::string>& words : std::vector<std::vector<std::string>>{
           {"table"}, {"table", "history"}, {"table", "export"}, {"job", "amber-jug", "--art", "60x40"}}) {
    CAPTURE(words);
    const test::Outcome shown = run_in_process(sample, words);
    CHECK(shown.status == 1);
    CHECK(is_lost(shown.err));
  }
  CHECK(is_lost(run_in_process(sample, {"check"}).out));
  CHECK(test::read_text(results / "settings-table.csv") == table);
  std::filesystem::rename(sample.folder() / "copy.csv", results / "settings-history.csv");
  CHECK(run_in_process(sample, {"table"}).err == "");
  CHECK(adopt("70").status == 0);
}

TEST_CASE("what is left out of a fit is said", "[program][table]") {
  const test::SampleShop sample;
  grade(sample);
  const std::vector<std::vector<std::string>> commands{{"fit", "amber-jug"},
                                                       {"plan", "amber-jug", "--dry-run"},
                                                       {"table", "adopt", "amber-jug", "--by", "Ann"}};
  for (const std::vector<std::string>& words : commands) CHECK(run_in_process(sample, words).err == "");
  std::ofstream(sample.results(), std::ios::app) << "A1,4,0,,An";
  std::filesystem::copy_file(sample.results(), sample.folder() / "results" / "0007-flask.csv");
  for (const std::vector<std::string>& words : commands) {
    CAPTURE(words);
    const test::Outcome ran = run_in_process(sample, words);
    CHECK_THAT(ran.err, Contains("left out are the grades of 0007-flask, whose grid is not there") &&
                            Contains("left out is the last row, which was cut, of") &&
                            Contains("0001-amber-jug.csv") && Contains("frostcal check"));
    CHECK(std::count(ran.err.begin(), ran.err.end(), '\n') == 1);
  }
}

TEST_CASE("a setting in force that the machine can't be set to any more is named", "[program][table]") {
  const test::SampleShop sample;
  grade(sample);
  put_in_force(sample);
  REQUIRE_THAT(run_in_process(sample, {"check"}).out, !Contains("doubtful"));
  std::string text = shop::shop_template();
  const std::string power = "power_pct = { min = 5, max = 100";
  text.replace(text.find(power), power.size(), "power_pct = { min = 5, max = 50");
  std::ofstream(shop::shop_file(sample.folder())) << text;
  const test::Outcome checked = run_in_process(sample, {"check"});
  CHECK(checked.status == 0);
  CHECK_THAT(checked.out,
             Contains("60 % power, 40 % speed, 300 dpi in force") && Contains("(doubtful, not a fault)"));
  CHECK_THAT(run_in_process(sample, {"job", "amber-jug", "--art", "60x40"}).out,
             Contains("As shop.toml has it, bench can't be set to 60 % power, 40 % speed, 300 dpi any"));
  CHECK_THAT(run_in_process(sample, {"table"}).err, Contains("can't be set to"));
  CHECK_THAT(run_in_process(sample, {"fit", "amber-jug"}).out,
             Contains("bench can't be set to it any more") && !Contains("--in-force"));
  CHECK(run_in_process(sample, {"table", "adopt", "amber-jug", "--in-force", "--by", "Ann"}).status == 1);
  CHECK(run_in_process(sample, {"table", "card", (sample.folder() / "card.pdf").string()}).status == 1);
}

TEST_CASE("a glass that shop.toml no longer has is not put on the wall card", "[program][table]") {
  const test::SampleShop sample;
  grade(sample);
  put_in_force(sample);
  const std::vector<std::string> card{"table", "card", (sample.folder() / "card.pdf").string()};
  REQUIRE(run_in_process(sample, card).status == 0);
  std::string text = shop::shop_template();
  const std::string name = "name = \"amber-jug\"";
  text.replace(text.find(name), name.size(), "name = \"brown-jug\"");
  std::ofstream(shop::shop_file(sample.folder())) << text;
  const test::Outcome without = run_in_process(sample, card);
  CHECK(without.status == 1);
  CHECK_THAT(without.err,
             Contains("Not on the card is amber-jug on bench: shop.toml has no glass of that name"));
}

TEST_CASE("a shop that shows inches shows its burn times by the square inch", "[program][table]") {
  const test::SampleShop sample;
  grade(sample);
  const auto minutes = [&](const std::string& after) {
    const std::string out = run_in_process(sample, {"fit", "amber-jug"}).out;
    const std::size_t at = out.find("Burn time");
    REQUIRE(at != std::string::npos);
    const std::string line = out.substr(at, out.find('\n', at) - at);
    REQUIRE_THAT(line, Contains(after));
    return std::stod(line.substr(line.find_first_of("0123456789")));
  };
  const double per_10_cm2 = minutes("min per 10 cm2");
  std::string text = shop::shop_template();
  const std::string units = "units = \"mm\"";
  text.replace(text.find(units), units.size(), "units = \"in\"");
  std::ofstream(shop::shop_file(sample.folder())) << text;
  CHECK(std::abs(minutes("min per square inch") - 0.64516 * per_10_cm2) < 0.09);  // both are rounded to 0.1
}

// Run as they stand, from another folder, they must find the shop.
TEST_CASE("commands that are said to be copied name the shop that they are for", "[program][table]") {
  const test::SampleShop sample;
  add_machine(sample);
  const std::string here = " --shop " + sample.option();
  const auto said = [&](const std::vector<std::string>& words) {
    const test::Outcome outcome = run_in_process(sample, words);
    return outcome.out + outcome.err;
  };
  CHECK_THAT(said({"fit"}), Contains("frostcal grade GRID" + here));
  CHECK_THAT(said({"table"}), Contains("frostcal table adopt GLASS --by NAME" + here));
  CHECK_THAT(said({"fit", "amber-jug"}), Contains("frostcal plan amber-jug --machine bench" + here));
  CHECK_THAT(said({"carry", "amber-jug", "--to", "barn"}),
             Contains("frostcal plan amber-jug --machine barn" + here));
  CHECK_THAT(said({"job", "amber-jug", "--art", "60x40"}),
             Contains("frostcal table adopt amber-jug --machine bench --by NAME" + here));
  CHECK_THAT(said({"table", "adopt", "amber-jug", "--by", "Ann"}),
             Contains("frostcal plan amber-jug --machine bench" + here));
  CHECK_THAT(said({"grade", "1", "--form", (sample.folder() / "form.csv").string()}),
             Contains(" --grader NAME" + here));
  grade(sample);
  CHECK_THAT(said({"carry", "amber-jug", "--to", "barn"}),
             Contains("--by NAME" + here) && Contains("--swatches 12" + here));
  REQUIRE(run_in_process(sample, {"table", "adopt", "amber-jug", "--by", "Ann", "--power", "60", "--speed",
                                  "40", "--dpi", "300", "--reason", "a test"})
              .status == 0);
  CHECK_THAT(said({"table", "restore", "amber-jug", "--row", "7", "--by", "Ann"}),
             Contains("frostcal table history amber-jug" + here));
  CHECK_THAT(said({"log", "amber-jug", "--frost", "1", "--chipping", "0", "--pieces", "12", "--by", "Ann"}),
             Contains("--by NAME" + here) && Contains("frostcal plan amber-jug --machine bench" + here));
  const json cured = json::parse(
      run_in_process(sample, {"log", "amber-jug", "--cured", "lens cleaned", "--by", "Ann", "--json"}).out);
  REQUIRE(cured.at("renew").size() == 1);
  CHECK_THAT(cured.at("renew").at(0).get<std::string>(), Contains("--in-force --by NAME" + here));
  CHECK_THAT(said({"table"}), Contains("--in-force --by NAME" + here));
}
