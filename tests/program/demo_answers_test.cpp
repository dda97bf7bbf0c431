// What the commands answer on the demo shop, against what the same shop's other answers imply.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <numeric>
#include <sstream>

#include "cli/dispatch.hpp"
#include "shop/shop_file.hpp"
#include "support/program.hpp"
#include "support/rendered_page.hpp"
#include "support/temporary_folder.hpp"
#include "textfile/read_file.hpp"
#include "textfile/utf8.hpp"
#include "textfile/wrapped_text.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using json = nlohmann::json;

namespace {

test::Outcome ask(std::vector<std::string> words) {
  words.insert(words.end(), {"--shop", FROSTCAL_SOURCE_DIR});
  std::istringstream in;
  std::ostringstream out;
  std::ostringstream err;
  const cli::ExitStatus status = cli::dispatch(words, {in, out, err});
  return {static_cast<int>(status), out.str(), test::unwrapped(err.str()), err.str()};
}

json answer(const std::vector<std::string>& words) {
  return json::parse(ask(words).out);
}

std::string at_text(const json& setting) {
  return "power=" + std::to_string(setting.at("power_pct").get<double>()) +
         ",speed=" + std::to_string(setting.at("speed_pct").get<double>()) +
         ",dpi=" + std::to_string(setting.at("dpi").get<int>());
}

double sum(const json& values) {
  return std::accumulate(values.begin(), values.end(), 0.0,
                         [](double total, const json& value) { return total + value.get<double>(); });
}

}  // namespace

TEST_CASE("a bound on the time is kept and most of it used, where the marks take longer than the swatches",
          "[program][demo]") {
  const std::pair<const char*, std::vector<int>> bounds[] = {{"recycled-blue", {1, 6}},
                                                             {"amber-jug", {3, 8}}};
  for (const auto& [glass, of_glass] : bounds) {
    double before = 0;
    for (const int minutes : of_glass) {
      INFO(glass << ' ' << minutes);
      const json plan =
          answer({"plan", glass, "--spend", std::to_string(minutes) + "min", "--dry-run", "--json"});
      const double seconds = plan.at("burn_seconds").get<double>();
      CHECK(seconds <= 60 * minutes);
      CHECK(seconds > 0.7 * 60 * minutes);
      CHECK(seconds > before);
      before = seconds;
    }
  }
}

TEST_CASE("each preference gets the most of what it prefers, near the best chance", "[program][demo]") {
  constexpr double kMargin = 0.02;
  for (const char* glass : {"olive-oil-green", "clear-cruet"}) {
    CAPTURE(glass);
    const auto best = [&](const char* prefer) {
      return answer({"fit", glass, "--prefer", prefer, "--json"}).at("glass").at(0).at("best");
    };
    const json usual = best("chance");
    const json fast = best("fast");
    const json robust = best("robust");
    const json sure = best("sure");
    CHECK(fast.at("seconds_per_cm2") < usual.at("seconds_per_cm2"));
    CHECK(fast.at("chance").get<double>() >= usual.at("chance").get<double>() - kMargin - 1e-9);
    for (const json& other : {usual, sure}) {
      CHECK(robust.at("tolerance_pct") >= other.at("tolerance_pct"));
    }
    for (const json& other : {usual, robust}) {
      CHECK(sure.at("chance_low") >= other.at("chance_low"));
    }
  }
  const test::Outcome wrong = ask({"fit", "clear-cruet", "--prefer", "cheap"});
  CHECK(wrong.status == 2);
  CHECK_THAT(wrong.err, Contains("found \"cheap\", expected chance, fast, robust"));
}

TEST_CASE("fit names a much faster setting where one is as good", "[program][demo]") {
  constexpr double kMargin = 0.02;
  int named = 0;
  for (const char* glass : {"olive-oil-green", "amber-jug", "clear-cruet"}) {
    CAPTURE(glass);
    const json usual = answer({"fit", glass, "--json"}).at("glass").at(0);
    const json fast = answer({"fit", glass, "--prefer", "fast", "--json"}).at("glass").at(0);
    CHECK(fast.at("faster").is_null());
    const double two_thirds = 2.0 / 3 * usual.at("best").at("seconds_per_cm2").get<double>();
    if (usual.at("faster").is_null()) {
      CHECK(fast.at("best").at("seconds_per_cm2").get<double>() > two_thirds);
      continue;
    }
    ++named;
    CHECK(usual.at("faster").at("seconds_per_cm2").get<double>() <= two_thirds);
    CHECK(usual.at("faster").at("seconds_per_cm2") >= fast.at("best").at("seconds_per_cm2"));
    CHECK(usual.at("faster").at("chance").get<double>() >=
          usual.at("best").at("chance").get<double>() - kMargin);
  }
  CHECK(named >= 1);
}

TEST_CASE("asked about the best setting, fit expects what it promised", "[program][demo]") {
  const json best = answer({"fit", "amber-jug", "--json"}).at("glass").at(0).at("best");
  const json fit = answer({"fit", "amber-jug", "--at", at_text(best), "--json"});
  const json& asked = fit.at("at").at(0);
  CHECK_THAT(asked.at("chance").get<double>(), WithinAbs(best.at("chance").get<double>(), 1e-9));
  CHECK(asked.at("frost").size() == 6);
  CHECK(asked.at("chipping").size() == 4);
  CHECK_THAT(sum(asked.at("frost")), WithinAbs(1, 1e-6));
  CHECK_THAT(sum(asked.at("chipping")), WithinAbs(1, 1e-6));
  // A good piece needs both, so neither alone can be rarer; and both together no rarer than the two misses
  // allow.
  const double frost = asked.at("frost").at(4).get<double>() + asked.at("frost").at(5).get<double>();
  const double chipping = asked.at("chipping").at(0).get<double>();
  CHECK(asked.at("chance").get<double>() <= std::min(frost, chipping) + 1e-6);
  CHECK(asked.at("chance").get<double>() >= frost + chipping - 1 - 1e-6);

  const test::Outcome text = ask({"fit", "amber-jug", "--at", at_text(best)});
  CHECK_THAT(text.out, Contains("\n  Frost         0: 0.0"));
  CHECK_THAT(text.out, Contains("\n  Chipping      0: "));
  CHECK(ask({"fit", "amber-jug", "--at", "power=60"}).status == 2);
  CHECK_THAT(ask({"fit", "amber-jug", "--at", "power=60,speed=40,dpi=300,colour=3"}).err,
             Contains("found \"colour=3\", expected power=, speed=, dpi=, tone=, screen= or passes="));
}

TEST_CASE("what is carried is translated as its ratios say", "[program][demo]") {
  const json carried = answer({"carry", "amber-jug", "--to", "bench", "--json"});
  const shop::Shop shop = shop::read_shop(FROSTCAL_SOURCE_DIR);
  const shop::Machine& from = shop.machine(carried.at("from").get<std::string>());
  const shop::Machine& to = shop.machine("bench");
  REQUIRE(from.name == "barn");
  json in_force;
  const json table = answer({"table", "--json"});
  for (const json& row : table.at("rows")) {
    if (row.at("glass") == "amber-jug" && row.at("machine") == "barn") in_force = row;
  }
  REQUIRE(!in_force.is_null());
  // Dose in J/mm2 is power over speed times pitch; heat is power over the root of speed; pitch counts in
  // spots.
  const auto power = [](const json& s, const shop::Machine& m) {
    return m.delivered_power_w(s.at("power_pct").get<double>());
  };
  const auto speed = [](const json& s, const shop::Machine& m) {
    return m.top_speed_mm_s * s.at("speed_pct").get<double>() / 100;
  };
  const auto pitch = [](const json& s) { return 25.4 / s.at("dpi").get<double>(); };
  const json& start = carried.at("setting");
  const double spots = to.spot_mm / from.spot_mm;
  CHECK_THAT(carried.at("pitch_ratio").get<double>(),
             WithinRel(pitch(start) / pitch(in_force) / spots, 1e-9));
  const double dose = power(start, to) / speed(start, to) / pitch(start) /
                      (power(in_force, from) / speed(in_force, from) / pitch(in_force));
  CHECK_THAT(carried.at("dose_ratio").get<double>(), WithinRel(dose, 1e-9));

  const test::Outcome text = ask({"carry", "amber-jug", "--to", "bench"});
  CHECK(text.status == 0);
  CHECK_THAT(text.out, Contains("Rests on      48 swatches graded on barn"));
  CHECK_THAT(text.out, Contains("frostcal plan amber-jug --machine bench --design targeted --swatches 12"));
  CHECK_THAT(ask({"carry", "amber-jug", "--to", "bench", "--from", "bench"}).err,
             Contains("--from and --to name the same machine"));
  const test::Outcome none = ask({"carry", "recycled-blue", "--to", "bench"});
  CHECK(none.status == 1);
}

TEST_CASE("a date that is none is no date to look back from", "[program][demo]") {
  for (const char* date : {"25.11.2026", "tomorrow", "2026-13-45", "2026-11-25T11:14:05Z"}) {
    const test::Outcome refused = ask({"fit", "amber-jug", "--as-of", date});
    CHECK(refused.status == 2);
    CHECK_THAT(refused.err, Contains("--as-of: found ") && Contains("expected a date such as 2026-11-25"));
  }
}

TEST_CASE("the report names what limits a glass, where something does", "[program][demo]") {
  const test::TemporaryFolder folder;
  const std::string file = (folder.path() / "fit.pdf").string();
  const auto limit = [&](const std::string& glass) {
    REQUIRE(ask({"fit", glass, "--report", file}).err == "Wrote " + file + '\n');
    const std::string text = test::ask("pdftotext FILE - 2>/dev/null", textfile::read_file({}, file)).output;
    REQUIRE_THAT(text, Contains("Chance over power and speed"));
    const std::size_t at = text.find("Limited by");
    return at == std::string::npos ? std::string() : text.substr(at, text.find_first_of(";\n", at) - at);
  };
  CHECK(answer({"fit", "olive-oil-green", "--json"}).at("glass").at(0).at("limited_by") == "nothing");
  CHECK(limit("olive-oil-green").empty());
  CHECK(answer({"fit", "clear-cruet", "--json"}).at("glass").at(0).at("limited_by") == "too few swatches");
  CHECK_THAT(limit("clear-cruet"), Catch::Matchers::StartsWith("Limited by: too few swatches"));
}

TEST_CASE("what the analysis of variance can't test is null in JSON", "[program][demo]") {
  int untested = 0;
  int tested = 0;
  const nlohmann::json answered = nlohmann::json::parse(ask({"fit", "--classical", "--json"}).out);
  for (const nlohmann::json& glass : answered.at("classical")) {
    if (!glass.contains("anova")) continue;
    bool pure = false;
    for (const nlohmann::json& row : glass.at("anova"))
      if (row.at("term") == "pure error") pure = row.at("df") > 0;
    for (const nlohmann::json& row : glass.at("anova")) {
      const bool error = row.at("term") == "residual" || row.at("term") == "pure error";
      const bool no_test = error || (row.at("term") == "lack of fit" && !pure);
      if (no_test) {
        CHECK(row.at("f").is_null());
        CHECK(row.at("p").is_null());
      }
      ++(no_test ? untested : tested);
    }
  }
  CHECK(untested > 0);
  CHECK(tested > 0);
}

TEST_CASE("no line of an answer is wider than 100 characters, commands to be copied aside",
          "[program][demo]") {
  for (const std::vector<std::string>& words :
       std::vector<std::vector<std::string>>{{"fit", "--classical"},
                                             {"fit", "clear-cruet", "--map"},
                                             {"fit", "amber-jug", "--at", "power=60,speed=40,dpi=300"},
                                             {"plan", "recycled-blue", "--dry-run"},
                                             {"plan", "recycled-blue", "--compare"},
                                             {"carry", "clear-cruet", "--to", "barn"},
                                             {"job", "amber-jug", "--art", "900x900", "--pieces", "12"},
                                             {"table"},
                                             {"table", "history"},
                                             {"check"}}) {
    const test::Outcome answered = ask(words);
    CAPTURE(words, answered.out);
    CHECK(std::count(answered.out.begin(), answered.out.end(), '\n') >= 1);
    std::istringstream lines(answered.out);
    for (std::string line; std::getline(lines, line);) {
      CAPTURE(line);
      CHECK((textfile::character_count(line) <= textfile::kWidest ||
             line.find("  frostcal ") != std::string::npos));
    }
  }
}
