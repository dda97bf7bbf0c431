// Findings in words: what, how much, in which direction, where.
#include "report/finding_text.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "report/choice_text.hpp"
#include "surface/shop_observations.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using Catch::Matchers::Equals;
using report::kLeastKappaPairs;
using report::to_text;
using surface::Finding;
using surface::FindingKind;
using surface::Response;

namespace {

Finding finding(FindingKind kind, Response response, double size, std::string subject,
                std::vector<std::string> swatches) {
  Finding found;
  found.kind = kind;
  found.response = response;
  found.size = size;
  found.subject = std::move(subject);
  found.swatches = std::move(swatches);
  return found;
}

}  // namespace

TEST_CASE("a finding names its swatches, its size and its direction", "[report]") {
  CHECK_THAT(
      to_text(finding(FindingKind::swatch_disagrees, Response::frost, -2.26, "", {"0003/B4"})),
      Equals("Swatch 0003/B4 shows 2.3 grades less frost than the others lead to expect: look at it again."));
  CHECK_THAT(to_text(finding(FindingKind::bottle_differs, Response::chipping, 1.04, "jug-2", {"A1", "A2"})),
             Contains("Bottle jug-2 shows 1.0 grades more chipping") && Contains("A1"));
  CHECK_THAT(to_text(finding(FindingKind::grader_differs, Response::frost, 0.7, "Ann", {})),
             Contains("Grader Ann gives 0.7 grades more frost than the others"));
  const std::string fainter =
      to_text(finding(FindingKind::glass_changed, Response::frost, std::log(0.9), "0007-amber-jug", {}));
  CHECK_THAT(fainter, Contains("Grid 0007-amber-jug behaves as if 10 % less power"));
  const std::string stronger =
      to_text(finding(FindingKind::glass_changed, Response::frost, std::log(1.1), "0007-amber-jug", {}));
  CHECK_THAT(stronger, Contains("behaves as if 10 % more power"));
  CHECK_THAT(to_text(finding(FindingKind::position_trend, Response::frost, 0.6, "x", {})),
             Contains("frost rise from neck to base"));
  CHECK_THAT(to_text(finding(FindingKind::position_trend, Response::chipping, -0.6, "y", {})),
             Contains("chipping fall round the bottle"));
  CHECK_THAT(to_text(finding(FindingKind::responses_associated, Response::frost, -0.5, "", {})),
             Contains("show less chipping than expected"));
}

TEST_CASE("nobody is asked to look again at a piece that the customer has", "[report]") {
  const std::string piece(std::string(surface::kPieceId) + "12");
  CHECK_THAT(to_text(finding(FindingKind::swatch_disagrees, Response::frost, -2.26, "", {piece})),
             Contains("The piece of pieces.csv line 12 shows 2.3 grades less frost") && !Contains("again"));
  CHECK_THAT(to_text(finding(FindingKind::lack_of_fit, Response::frost, 5, "near", {piece, "0003/B4"})),
             Contains("Swatches 0003/B4, of like") && !Contains("pieces.csv"));
  CHECK_THAT(to_text(finding(FindingKind::lack_of_fit, Response::frost, 5, "near", {piece})),
             Contains("Logged pieces of like settings") && !Contains("again"));
}

TEST_CASE("two graders on either side of the mean make one sentence", "[report]") {
  const auto grader = [](const std::string& name, double size, Response response = Response::frost) {
    return finding(FindingKind::grader_differs, response, size, name, {});
  };
  const auto bottle = finding(FindingKind::bottle_differs, Response::frost, 1.04, "jug-2", {"A1"});
  const std::vector<std::string> two =
      report::finding_texts({bottle, grader("Ann", 0.31), grader("Bo", -0.28)});
  REQUIRE(two.size() == 2);
  CHECK_THAT(two[0], Contains("Bottle jug-2"));
  CHECK_THAT(two[1], Contains("Grader Bo gives 0.6 grades less frost than Ann:"));
  CHECK_THAT(report::finding_texts({grader("Ann", -0.31), grader("Bo", 0.28)}).at(0),
             Contains("Grader Bo gives 0.6 grades more frost than Ann:"));
  // Alone, on the same side, of another response or of more than two: one by one.
  CHECK_THAT(report::finding_texts({grader("Ann", 0.31)}).at(0), Contains("than the others"));
  CHECK(report::finding_texts({grader("Ann", 0.31), grader("Bo", 0.28)}).size() == 2);
  CHECK(report::finding_texts({grader("Ann", 0.31), grader("Bo", -0.28, Response::chipping)}).size() == 2);
  CHECK(report::finding_texts({grader("Ann", 0.31), grader("Bo", -0.28), grader("Cy", 0.4)}).size() == 3);
}

TEST_CASE("more than six swatches are counted", "[report]") {
  const std::vector<std::string> eight{"A1", "A2", "A3", "A4", "A5", "A6", "A7", "A8"};
  const std::string text = to_text(finding(FindingKind::bottle_differs, Response::frost, 1, "jug-2", eight));
  CHECK_THAT(text, Contains("A6") && Contains("2 more") && !Contains("A7"));
}

TEST_CASE("a drift of power is told with its interval, and only when it is clear of none", "[report]") {
  surface::PowerTrend trend;
  trend.machine = "bench";
  trend.since = "2026-03-02";
  trend.until = "2026-11-02";
  trend.glasses = 2;
  trend.change = -0.08;
  trend.low = -0.11;
  trend.high = -0.05;
  CHECK_THAT(to_text(trend),
             Contains("Power of machine bench is down about 8 % since 2026-03-02 (90 %: 5 to 11), "
                      "as 2 glasses tell"));
  trend.high = 0.01;
  CHECK_THAT(to_text(trend), Equals(""));
  trend.change = 0.06;
  trend.low = 0.02;
  trend.high = 0.10;
  trend.glasses = 1;
  CHECK_THAT(to_text(trend), Contains("is up about 6 % since 2026-03-02 (90 %: 2 to 10), as 1 glass tells"));
}

TEST_CASE("two glasses alike are named with what each would lose", "[report]") {
  CHECK_THAT(to_text(choice::GlassLikeness{"bench", "amber-jug", "green-oil", 0.012, 0.004}),
             Contains("Glasses amber-jug and green-oil behave alike on bench") && Contains("0.01 and 0.00"));
}

TEST_CASE("agreement is told from enough repeats on", "[report]") {
  grades::GraderConsistency own;
  own.grader = "Ann";
  own.frost = {true, 3, 0.5, 0.2, 0.1, 0.9};
  CHECK_THAT(to_text(own), Equals(""));
  own.frost.pairs = kLeastKappaPairs - 1;
  CHECK_THAT(to_text(own), Equals(""));
  grades::GraderAgreement both;
  both.first = "Ann";
  both.second = "Bo";
  both.frost = {true, 4, 0.5, 0.2, 0.1, 0.9};
  both.frost_difference = -0.5;
  CHECK_THAT(to_text(both),
             Equals("Graders Ann and Bo both graded 4 swatches, too few to say how well they agree "
                    "(at least 10); Bo gives 0.5 less frost."));
  both.frost.pairs = 1;
  CHECK_THAT(to_text(both), Contains("both graded 1 swatch, too few"));
  both.frost.pairs = kLeastKappaPairs;
  CHECK_THAT(to_text(both),
             Contains("both graded 10 swatches; weighted kappa of frost 0.50 (90 %: 0.10 to 0.90)"));
  own.frost.pairs = 12;
  CHECK_THAT(to_text(own),
             Contains("Grader Ann over 12 pairs of repeats") && Contains("0.50 (90 %: 0.10 to 0.90)"));
}

TEST_CASE("the next grid is asked for on the machine that it is about", "[report]") {
  choice::GlassChoice answer;
  answer.glass = "amber-jug";
  answer.machine = "barn";
  CHECK_THAT(report::choice_text(answer, {}),
             Contains("burn a grid:\n                frostcal plan amber-jug --machine barn\n"));
  choice::Decision best;
  best.setting = {60, 44, 300, 100, "stucki", 1};
  answer.best = best;
  answer.expected_gain = 0.2;
  CHECK_THAT(report::choice_text(answer, {}),
             Contains("by about 0.20:\n                frostcal plan amber-jug --machine barn\n"));
}

TEST_CASE("a higher chance under \"Also good\" is explained, and only then", "[report]") {
  choice::GlassChoice answer;
  answer.glass = "amber-jug";
  answer.machine = "bench";
  choice::Decision best;
  best.setting = {60, 44, 300, 100, "stucki", 1};
  best.chance = 0.951;
  best.chance_low = 0.9;
  best.chance_high = 0.99;
  choice::Decision other = best;
  other.setting.dpi = 400;
  other.chance = 0.9549;  // not as printed
  answer.best = best;
  answer.alternatives = {other};
  CHECK_THAT(report::choice_text(answer, {}), Contains("Also good") && Contains("0.95 (90 %"));
  CHECK_THAT(report::choice_text(answer, {}), !Contains("power 5 % off"));
  answer.alternatives[0].chance = 0.956;
  CHECK_THAT(report::choice_text(answer, {}),
             Contains("a higher number there: the best one is chosen to hold also with power 5 % off"));
  CHECK_THAT(report::choice_text(answer, {}, {choice::Prefer::fast}),
             Contains("you prefer the fastest whose chance is within 0.02") && !Contains("power 5 % off"));
}

TEST_CASE("a stop under the target says what is left", "[report]") {
  choice::GlassChoice answer;
  answer.glass = "amber-jug";
  answer.machine = "bench";
  answer.stop = true;
  choice::Decision best;
  best.setting = {60, 44, 300, 100, "stucki", 1};
  best.chance = 0.83;
  answer.best = best;
  shop::Shop shop;
  shop.acceptance.chance = 0.9;
  CHECK_THAT(report::choice_text(answer, shop),
             Contains("under the target of 0.90; what is left") && Contains("--reason TEXT"));
  answer.best->chance = 0.93;
  CHECK_THAT(report::choice_text(answer, shop), Contains("stop:") && !Contains("what is left"));
}
