// Effects that glasses share, on grades simulated with a known effect. The made-up response is not the
// model's.
#include "surface/shared_effects.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <string>
#include <vector>

#include "numerics/random_engine.hpp"
#include "surface/diagnostics.hpp"
#include "surface/glass_change.hpp"
#include "surface/later_bottles.hpp"
#include "surface/shop_surface.hpp"
#include "textfile/time_text.hpp"

using namespace frostcal::surface;
namespace textfile = frostcal::textfile;

namespace {

FitOptions bench_options() {
  FitOptions options;
  options.centre = {25.0, 380.0, 25.4 / 350};
  return options;
}

/// A grade of a swatch burned at `power` times what the setting says, by a grader who gives `severity` more.
Observation graded(const std::string& glass, const PhysicalSetting& setting, double power, double severity,
                   frostcal::numerics::RandomEngine& random) {
  Observation o;
  o.glass = glass;
  o.setting = setting;
  PhysicalSetting felt = setting;
  felt.power_w *= power;
  const Coordinates u = coordinates(felt, bench_options().centre);
  const double frost = 5.2 - 1.1 * u(0) * u(0) - 0.3 * u(1) * u(1) + 0.35 * random.normal() + severity;
  const double chipping = 1.8 * (u(0) - 0.8) + 0.35 * random.normal() + severity;
  o.frost = static_cast<int>(std::lround(std::clamp(frost, 0.0, 5.0)));
  o.chipping = static_cast<int>(std::lround(std::clamp(chipping, 0.0, 3.0)));
  return o;
}

PhysicalSetting drawn_setting(frostcal::numerics::RandomEngine& random) {
  return {std::exp(std::log(7.0) + random.uniform() * 2.3),
          std::exp(std::log(120.0) + random.uniform() * 2.2),
          25.4 / (250 + 50 * static_cast<double>(random.below(4))), 1, 1};
}

/// Three glasses, each graded on five days over nine months, while ln power goes from -total to 0.
std::vector<Observation> nine_months(double total, std::uint64_t seed) {
  frostcal::numerics::RandomEngine random(seed);
  std::vector<Observation> all;
  const int first = *textfile::day_number("2026-02-03");
  for (int g = 0; g < 3; ++g) {
    const std::string glass = "glass-" + std::to_string(g) + "@bench";
    for (int day = 0; day < 5; ++day) {
      const int days = day * 270 / 4;
      for (int i = 0; i < 12; ++i) {
        Observation o = graded(glass, drawn_setting(random), std::exp(total * days / 270.0), 0, random);
        o.day = textfile::date_text(first + days);
        o.bottle = glass + std::to_string(day) + (i % 2 ? "a" : "b");
        o.burn = glass + std::to_string(day);
        o.grader = "Wen";
        all.push_back(o);
      }
    }
  }
  return all;
}

PowerTrend trend_of(double total, std::uint64_t seed) {
  const ShopSurface shop = fit_shop(nine_months(total, seed), bench_options());
  REQUIRE(shop.power_trends().size() == 1);
  return shop.power_trends()[0];
}

}  // namespace

TEST_CASE("a tired tube is seen over months, with an interval that holds the truth",
          "[surface][trend][replicates]") {
  constexpr int kShops = 24;
  const auto run = [](double left, std::uint64_t seed) {
    int held = 0;
    int seen = 0;
    double sum = 0;
    for (int s = 0; s < kShops; ++s) {
      const PowerTrend told = trend_of(std::log(left), seed + static_cast<std::uint64_t>(s));
      held += told.low <= left - 1 && left - 1 <= told.high ? 1 : 0;
      seen += told.high < 0 || told.low > 0 ? 1 : 0;
      sum += told.change;
    }
    INFO("left " << left << ": held " << held << ", seen " << seen << ", mean change " << sum / kShops);
    CHECK(held >= 18);  // 0.9 of 24, less 2.5 binomial sd
    return std::pair(seen, sum / kShops);
  };
  const auto [tired_seen, tired] = run(0.85, 100);
  CHECK(tired_seen >= 16);
  CHECK(tired < -0.10);
  const auto [failing_seen, failing] = run(0.6, 200);
  CHECK(failing_seen == kShops);
  CHECK(failing < -0.36);
  CHECK(run(1, 300).first <= 6);  // false alarms: 0.1 of 24, plus 2.5 binomial sd
}

TEST_CASE("the trend names its machine and its days", "[surface][trend]") {
  const PowerTrend trend = trend_of(-0.2, 7);
  CHECK(trend.machine == "bench");
  CHECK(trend.since == "2026-02-03");
  CHECK(trend.until == "2026-10-31");
  CHECK(trend.glasses == 3);
  CHECK(trend.low < trend.change);
  CHECK(trend.change < trend.high);
}

namespace {

/// Grids of two glasses, each on three bottles a week apart, and where `late` is not 0 so many bottles of the
/// first one, or of both, ten months later that felt `power` times as much.
std::vector<Observation> january_and_later(int late, double power, std::uint64_t seed, bool both = false) {
  frostcal::numerics::RandomEngine random(seed);
  std::vector<Observation> all;
  const auto burn = [&](const std::string& glass, const std::string& bottle, const std::string& day,
                        double felt) {
    for (int i = 0; i < 12; ++i) {
      Observation o = graded(glass, drawn_setting(random), felt, 0, random);
      o.day = day;
      o.bottle = o.burn = bottle;
      o.grader = "Wen";
      all.push_back(o);
    }
  };
  for (const std::string glass : {"one@bench", "other@bench"}) {
    for (const std::string day : {"2026-01-05", "2026-01-12", "2026-01-20"}) burn(glass, glass + day, day, 1);
  }
  for (const std::string glass : {"one@bench", "other@bench"}) {
    if (glass == "other@bench" && !both) continue;
    for (int i = 0; i < late; ++i) burn(glass, glass + "late" + std::to_string(i), "2026-11-20", power);
  }
  return all;
}

}  // namespace

TEST_CASE("a customer's piece after a pause says nothing of the machine's power", "[surface][trend]") {
  // By our own judgement: a piece that cracks is an odd bottle or a knock far more often than a stronger
  // tube.
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    std::vector<Observation> swatches = january_and_later(0, 1, seed);
    const PhysicalSetting at{20, 380, 25.4 / 350, 1, 1};
    const ShopSurface before = fit_shop(swatches, bench_options());
    Observation piece;
    piece.glass = "one@bench";
    piece.setting = at;
    piece.bottle = piece.burn = "piece 2";
    piece.grader = "Wen";
    piece.day = "2026-11-20";
    piece.piece = true;
    piece.frost = 5;
    piece.chipping = 3;
    swatches.push_back(piece);
    const ShopSurface after = fit_shop(swatches, bench_options());
    REQUIRE(before.power_trends().size() == after.power_trends().size());
    for (std::size_t i = 0; i < before.power_trends().size(); ++i) {
      CHECK(before.power_trends()[i].until == after.power_trends()[i].until);
      CHECK(std::fabs(before.power_trends()[i].change - after.power_trends()[i].change) < 0.005);
    }
    const double other = before.glass("other@bench").chance(at).chance;
    CHECK(std::fabs(after.glass("other@bench").chance(at).chance - other) < 0.03);
    CHECK(after.glass("one@bench").chance(at).chance < before.glass("one@bench").chance(at).chance);
  }
}

TEST_CASE("one odd bottle months later is hardly a change of power, two bottles of two glasses are",
          "[surface][trend]") {
  constexpr int kShops = 8;
  const auto told = [](int bottles, double power, bool both) {
    double change = 0;
    for (std::uint64_t seed = 1; seed <= kShops; ++seed) {
      const ShopSurface shop = fit_shop(january_and_later(bottles, power, seed, both), bench_options());
      REQUIRE(shop.power_trends().size() == 1);
      CHECK(shop.power_trends()[0].one_bottle == (bottles == 1));
      change += shop.power_trends()[0].change / kShops;
    }
    return change;
  };
  const double odd_down = told(1, std::exp(-0.35), false);
  const double odd_up = told(1, std::exp(0.35), false);
  const double lost = told(2, std::exp(-0.5), true);
  INFO("one bottle " << odd_down << ", " << odd_up << "; two bottles of two glasses, 39 % lost " << lost);
  CHECK(std::fabs(odd_down) < 0.15);
  CHECK(std::fabs(odd_up) < 0.15);
  CHECK(lost < -0.25);
}

TEST_CASE("one glass whose later bottles want another power moves its own surface and not the others'",
          "[surface][trend][change]") {
  constexpr int kShops = 6;
  for (const double power : {0.6, 1.6}) {
    double own = 0;
    double machine = 0;
    double others = 0;
    int another_glass = 0;
    for (std::uint64_t seed = 1; seed <= kShops; ++seed) {
      const ShopSurface before = fit_shop(january_and_later(0, 1, seed), bench_options());
      const ShopSurface after = fit_shop(january_and_later(2, power, seed), bench_options());
      machine += after.power_trends()[0].change / kShops;
      own += std::log1p(after.glass("one@bench").rows().change) / kShops;
      another_glass += after.glass("one@bench").rows().other_glass > 0.5 ? 1 : 0;
      CHECK(after.glass("other@bench").rows().other_glass < 0.5);
      for (const double dial : {12.0, 20.0, 30.0}) {
        const PhysicalSetting at{dial, 380, 25.4 / 350, 1, 1};
        const double chance = before.glass("other@bench").chance(at).chance;
        others += std::fabs(after.glass("other@bench").chance(at).chance - chance) / (3 * kShops);
      }
    }
    INFO("power " << power << ": machine " << machine << ", glass " << own << ", called another glass "
                  << another_glass << ", chances of the other glass by " << others);
    CHECK(others < 0.08);
    CHECK(std::fabs(machine) < 0.06);
    CHECK(own / std::log(power) > 0.6);
    CHECK(own / std::log(power) < 1.2);
    CHECK(another_glass >= 5);
  }
  // What both glasses tell is the machine.
  const ShopSurface both = fit_shop(january_and_later(2, 0.6, 3, true), bench_options());
  CHECK(both.glass("one@bench").rows().other_glass < 0.5);
  CHECK(both.power_trends()[0].high < -0.1);
}

TEST_CASE("newest bottles that all chip more than the earlier ones are told together", "[surface][change]") {
  int told = 0;
  int accused = 0;
  for (std::uint64_t seed = 1; seed <= 8; ++seed) {
    std::vector<Observation> swatches = january_and_later(2, 1, seed);
    for (int i = 0; i < static_cast<int>(swatches.size()); ++i) {
      Observation& o = swatches[static_cast<std::size_t>(i)];
      o.swatch = "s" + std::to_string(i);
    }
    const auto find = [&] {
      return later_bottles(fit_shop(swatches, bench_options()).glass("one@bench"), swatches);
    };
    accused += find() ? 1 : 0;
    for (Observation& o : swatches) {
      if (o.day == "2026-11-20") o.chipping = GradeRange(3);
    }
    const std::optional<LaterBottles> later = find();
    if (!later) continue;
    ++told;
    CHECK(later->response == Response::chipping);
    CHECK(later->grades > 1);
    CHECK(later->bottles == std::vector<std::string>{"one@benchlate0", "one@benchlate1"});
    CHECK(later->swatches.size() == 24);
    const std::vector<Finding> findings =
        diagnose(fit_shop(swatches, bench_options()).glass("one@bench"), swatches);
    CHECK(std::none_of(findings.begin(), findings.end(), [](const Finding& f) {
      return f.kind == FindingKind::bottle_differs && f.response == Response::chipping;
    }));
  }
  CHECK(told >= 6);
  CHECK(accused == 0);
}

TEST_CASE("a surface is that of the latest day", "[surface][trend]") {
  // The best power goes up when the tube gets tired: shift the dial by the loss and the chances agree.
  const PhysicalSetting then{10, 380, 25.4 / 350, 1, 1};
  PhysicalSetting now = then;
  now.power_w *= std::exp(0.25);
  double tired = 0;
  double without = 0;
  double steady = 0;
  for (std::uint64_t s = 0; s < 6; ++s) {
    std::vector<Observation> swatches = nine_months(-0.25, 40 + s);
    tired += fit_shop(swatches, bench_options()).glass("glass-0@bench").mean_chance({now})(0);
    for (Observation& o : swatches) o.day.clear();
    without += fit_shop(swatches, bench_options()).glass("glass-0@bench").mean_chance({now})(0);
    steady += fit_shop(nine_months(0, 40 + s), bench_options()).glass("glass-0@bench").mean_chance({then})(0);
  }
  INFO("steady " << steady / 6 << ", tired with days " << tired / 6 << ", without " << without / 6);
  CHECK(std::fabs(tired - steady) < std::fabs(without - steady));
}

TEST_CASE("days within a fortnight have no trend, and one day no day effect", "[surface][trend]") {
  std::vector<Observation> swatches = nine_months(0, 3);
  for (Observation& o : swatches) o.day = o.day < "2026-06-01" ? "2026-10-01" : "2026-10-09";
  CHECK(fit_shop(swatches, bench_options()).power_trends().empty());
  for (Observation& o : swatches) o.day = "2026-10-01";
  const ShopSurface shop = fit_shop(swatches, bench_options());
  for (const LocalEffect& e : shop.glass("glass-0@bench").rows().effects) {
    CHECK(e.kind != EffectKind::day);
    CHECK(e.kind != EffectKind::trend);
  }
}

TEST_CASE("how severe a grader is, is learned from all glasses", "[surface][graders]") {
  frostcal::numerics::RandomEngine random(11);
  std::vector<Observation> all;
  for (int g = 0; g < 4; ++g) {
    for (int i = 0; i < 24; ++i) {
      const PhysicalSetting setting = drawn_setting(random);
      // Ada grades everything, half a grade better; Wen grades nothing of the last glass.
      for (const char* grader : {"Ada", "Wen"}) {
        if (g == 3 && std::string(grader) == "Wen") continue;
        Observation o = graded("glass-" + std::to_string(g) + "@bench", setting, 1,
                               std::string(grader) == "Ada" ? 0.5 : 0, random);
        o.bottle = o.glass + std::to_string(i % 2);
        o.burn = o.glass + std::to_string(i % 3);
        o.grader = grader;
        all.push_back(o);
      }
    }
  }
  const ShopSurface shop = fit_shop(all, bench_options());
  const GlassSurface& last = shop.glass("glass-3@bench");
  for (const LocalEffect& e : last.rows().effects) {
    if (e.kind != EffectKind::grader) continue;
    REQUIRE(e.name == "Ada");
    CHECK(e.mean[0] > 0.05);
    CHECK(e.sd[0] < kGraderSd);
  }
}

namespace {

/// Three grids of twelve; the newest of a glass that feels `power` times the power.
std::vector<Observation> three_grids(double power, std::uint64_t seed) {
  frostcal::numerics::RandomEngine random(seed);
  std::vector<Observation> all;
  for (int grid = 1; grid <= 3; ++grid) {
    for (int i = 0; i < 12; ++i) {
      Observation o = graded("flask@bench", drawn_setting(random), grid == 3 ? power : 1, 0, random);
      const std::string id = "000" + std::to_string(grid) + "-flask";
      o.bottle = "flask-" + std::to_string(grid);
      o.burn = id + '/' + std::to_string(i % 2 + 1);
      o.swatch = id + " A" + std::to_string(i + 1);
      o.grader = "Wen";
      all.push_back(o);
    }
  }
  return all;
}

bool called_changed(const std::vector<Observation>& swatches) {
  const ShopSurface shop = fit_shop(swatches, bench_options());
  const std::vector<Finding> findings = diagnose(shop.glass("flask@bench"), swatches);
  return std::any_of(findings.begin(), findings.end(),
                     [](const Finding& f) { return f.kind == FindingKind::glass_changed; });
}

}  // namespace

TEST_CASE("another glass under the old name is noticed, the same glass is not accused", "[surface][change]") {
  constexpr int kGlasses = 30;
  int noticed = 0;
  int accused = 0;
  for (int g = 0; g < kGlasses; ++g) {
    noticed += called_changed(three_grids(0.65, 500 + static_cast<std::uint64_t>(g))) ? 1 : 0;
    accused += called_changed(three_grids(1, 700 + static_cast<std::uint64_t>(g))) ? 1 : 0;
  }
  INFO("noticed " << noticed << ", accused " << accused << " of " << kGlasses);
  CHECK(noticed >= 20);
  CHECK(accused <= 1);
}

TEST_CASE("a change names its grid and swatches, and says which way", "[surface][change]") {
  const std::vector<Observation> swatches = three_grids(0.6, 21);
  const ShopSurface shop = fit_shop(swatches, bench_options());
  const std::optional<GlassChange> change = newest_grid_change(shop.glass("flask@bench"), swatches);
  REQUIRE(change);
  CHECK(change->grid == "0003-flask");
  CHECK(change->swatches.size() == 12);
  CHECK(change->ln_power < -0.2);
  const std::vector<Observation> one_grid(swatches.begin(), swatches.begin() + 12);
  CHECK_FALSE(newest_grid_change(fit_shop(one_grid, bench_options()).glass("flask@bench"), one_grid));
}
