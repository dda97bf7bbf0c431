#include "bench/decision_trial.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <iomanip>
#include <map>
#include <numeric>
#include <ostream>

#include "bench/loss_table.hpp"
#include "choice/glass_choice.hpp"
#include "choice/next_grid.hpp"
#include "numerics/random_engine.hpp"
#include "recovery/simulated_shop.hpp"
#include "surface/diagnostics.hpp"
#include "surface/physical_setting.hpp"
#include "table/adoption.hpp"
#include "table/carry.hpp"
#include "table/settings_table.hpp"
#include "table/stale_check.hpp"

namespace frostcal::bench {

namespace {

const char* const kNow = "2026-11-25T11:14:05Z";
const char* const kGlass = test::SimulatedShop::kGlass;
constexpr double kAdoptionTarget = 0.80;  // so that more is adopted and there is something to judge
// A bad adoption: a first setting truly under the target, or a replacement truly under the old, by more.
constexpr double kBadFirst = 0.10;
constexpr double kBadReplacement = 0.02;

choice::GridRequest twelve(const std::string& machine) {
  choice::GridRequest request;
  request.machine = machine;
  request.swatches = 12;
  return request;
}

// Twice the doubt about power either way, and half of that in speed, on the dials of `to`.
void spread_round(choice::GridRequest& request, const shop::Setting& setting, const shop::Machine& to,
                  double doubt) {
  const auto around = [](const shop::SteppedRange& range, double value, double factor) {
    const auto snap = [&](double wished) {
      const double steps = std::round((std::clamp(wished, range.min, range.max) - range.min) / range.step);
      return std::min(range.max, range.min + steps * range.step);
    };
    return std::pair{snap(value / factor), snap(value * factor)};
  };
  const double factor = std::exp(2 * doubt);
  request.power_pct = around(to.power_pct, setting.power_pct, factor);
  request.speed_pct = around(to.speed_pct, setting.speed_pct, std::sqrt(factor));
  request.dpi = {setting.dpi};
}

// As `log` writes it: ">=4,0" or, of a reject, its grades.
grades::PieceRow piece_at(const shop::Setting& setting, const std::string& machine, const World& world,
                          int index) {
  const std::string id = "piece" + std::to_string(index);
  const simulator::Grades seen = world.burn(setting, {id, id, id, 0.3});
  const bool acceptable = seen.frost >= world.bar.frost && seen.chipping <= world.bar.chipping;
  grades::PieceRow piece;
  piece.glass = kGlass;
  piece.machine = machine;
  piece.setting = setting;
  piece.by = "simulated";
  piece.logged_at = kNow;
  piece.line = index + 2;
  piece.frost = acceptable ? grades::GradeRange(world.bar.frost, 5) : grades::GradeRange(seen.frost);
  piece.chipping = acceptable ? grades::GradeRange(0, world.bar.chipping) : grades::GradeRange(seen.chipping);
  return piece;
}

double mean_of(const std::vector<double>& values) {
  return std::accumulate(values.begin(), values.end(), 0.0) /
         static_cast<double>(std::max<std::size_t>(values.size(), 1));
}

void summarise(std::ostream& out, const std::string& what, std::vector<double> losses) {
  out << "| " << what << " | " << std::fixed << std::setprecision(3) << mean_of(losses) << " | "
      << sample_quantile(losses, 0.5) << " | " << sample_quantile(losses, 0.9) << " | "
      << *std::max_element(losses.begin(), losses.end()) << " |\n";
}

// One line of the rows: the best setting of today against an earlier best, or against nothing.
void write_weighed(std::ostream& rows, const World& world, const test::SimulatedShop& simulated,
                   const table::AdoptionCase& weighed) {
  const choice::Decision& proposed = *weighed.proposed;
  const auto& surface = simulated.surfaces.glass(surface::surface_name(kGlass, "bench"));
  const auto drawn = [&](const shop::Setting& setting) -> Eigen::ArrayXd {
    return surface.drawn_chance({surface::physical_setting(setting, world.machine)}).row(0).transpose();
  };
  const Eigen::ArrayXd chances = drawn(proposed.setting);
  const auto share = [&](const Eigen::Array<bool, Eigen::Dynamic, 1>& which) {
    return static_cast<double>(which.count()) / static_cast<double>(which.size());
  };
  rows << world.seed << ',' << weighed.support.swatches << ',' << (weighed.old ? weighed.old->swatches : 0)
       << ',' << proposed.chance << ',' << proposed.chance_low << ',' << proposed.chance_high << ','
       << share(chances < kAdoptionTarget - kBadFirst) << ',' << proposed.beyond_tried << ','
       << world.chance(proposed.setting) << ',';
  if (!weighed.old) {
    rows << ",,,,,,,";
  } else {
    const table::Comparison compared = weighed.comparison.value_or(table::Comparison{});
    rows << weighed.old->chance << ',' << compared.old_now.chance << ',' << weighed.same_setting << ','
         << compared.gain << ',' << compared.gain_low << ',' << compared.probability_better << ','
         << share(chances - drawn(weighed.old->setting) < -kBadReplacement) << ','
         << world.chance(weighed.old->setting);
  }
  rows << ',' << world.best.chance << '\n';
}

}  // namespace

AdoptionTrials simulate_adoptions(std::uint64_t first, int glasses, std::ostream* rows) {
  AdoptionTrials trials;
  if (rows != nullptr) {
    *rows << "seed,swatches,old_swatches,promised,low,high,under,beyond,truth,old_promised,old_now,same,gain,"
             "gain_low,probability_better,worse,old_truth,best\n";
  }
  for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(glasses); ++seed) {
    World world = make_world(seed, drawn_machine(seed));
    world.bar.chance = kAdoptionTarget;
    test::SimulatedShop simulated({world});
    numerics::RandomEngine random(seed);
    table::TableRecord record;
    std::vector<table::SettingsRow> earlier;
    for (int grid = 0; grid < 4; ++grid) {
      simulated.burn_grid(twelve("bench"));
      const auto weigh = [&](const std::optional<shop::Setting>& setting, const table::TableRecord& past) {
        return table::weigh_adoption(simulated.shop, simulated.evidence, simulated.surfaces, kGlass, "bench",
                                     setting, past);
      };
      const table::AdoptionCase adoption = weigh(std::nullopt, record);
      const choice::Decision& proposed = *adoption.proposed;
      if (rows != nullptr) {
        write_weighed(*rows, world, simulated, weigh(proposed.setting, {}));
        for (const table::SettingsRow& old : earlier) {
          table::TableRecord one;
          one.history.push_back({old, table::Action::adopt, "0.1.0", 0});
          write_weighed(*rows, world, simulated, weigh(proposed.setting, one));
        }
        rows->flush();
        earlier.push_back(table::adopted_row(adoption, "Simulated", "", kNow, "0.1.0").row);
      }
      if (!adoption.objections.empty() || adoption.same_setting) continue;
      AdoptionTrial trial;
      trial.promised = proposed.chance;
      trial.low = proposed.chance_low;
      trial.high = proposed.chance_high;
      trial.truth = world.chance(proposed.setting);
      if (adoption.old) trial.old_truth = world.chance(adoption.old->setting);
      trial.good = random.uniform() < trial.truth;
      trials.adopted.push_back(trial);
      record.history.push_back(table::adopted_row(adoption, "Simulated", "", kNow, "0.1.0"));
    }
    const auto now = table::in_force(record.history, kGlass, "bench");
    if (now) trials.in_force.push_back(world.chance(now->setting));
    trials.best.push_back(world.best.chance);
  }
  return trials;
}

void print_adoptions(std::ostream& out, const AdoptionTrials& trials) {
  out << "| promised | adoptions | mean promise | mean truth | one bottle each: good | inside the 90 % "
         "interval |\n"
         "|---|---|---|---|---|---|\n"
      << std::fixed << std::setprecision(2);
  const std::vector<std::pair<double, double>> classes{
      {0.8, 0.85}, {0.85, 0.9}, {0.9, 0.95}, {0.95, 1.01}, {0, 1.01}};
  for (const auto& [from, below] : classes) {
    std::vector<double> promised;
    std::vector<double> truth;
    int good = 0;
    int inside = 0;
    for (const AdoptionTrial& trial : trials.adopted) {
      if (trial.promised < from || trial.promised >= below) continue;
      promised.push_back(trial.promised);
      truth.push_back(trial.truth);
      good += trial.good;
      inside += trial.low <= trial.truth && trial.truth <= trial.high;
    }
    if (from == 0) {
      out << "| all";
    } else {
      out << "| " << from << " to " << std::min(below, 1.0);
    }
    out << " | " << promised.size() << " | " << mean_of(promised) << " | " << mean_of(truth) << " | " << good
        << " | " << inside << " |\n";
  }
  int replaced = 0;
  int worse = 0;
  int first_bad = 0;
  double gain = 0;
  for (const AdoptionTrial& trial : trials.adopted) {
    if (trial.old_truth >= 0) {
      ++replaced;
      gain += trial.truth - trial.old_truth;
      worse += trial.truth < trial.old_truth - kBadReplacement;
    } else {
      first_bad += trial.truth < kAdoptionTarget - kBadFirst;
    }
  }
  const int adoptions = static_cast<int>(trials.adopted.size());
  out << "\n"
      << adoptions << " adoptions, " << replaced << " of them replacements, of which " << worse
      << " for the worse by more than " << kBadReplacement << " (mean true gain "
      << gain / std::max(1, replaced) << "); of " << adoptions - replaced << " first settings " << first_bad
      << " are truly under the target by more than " << kBadFirst << ".\n"
      << "After the last grid " << trials.in_force.size() << " of " << trials.best.size()
      << " glasses have a setting in force, with a mean truth of " << mean_of(trials.in_force)
      << "; the best possible is " << mean_of(trials.best) << " over all glasses.\n";
}

std::vector<CarryTrial> simulate_carries(std::uint64_t first, int glasses, std::ostream* rows) {
  std::vector<CarryTrial> trials;
  if (rows != nullptr) *rows << "seed,carried,own6,kept6,own12,kept12,own18,kept18\n";
  for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(glasses); ++seed) {
    const shop::Machine from = drawn_machine(seed);
    shop::Machine to = drawn_machine(seed + 5000);
    to.name = "barn";
    to.top_speed_mm_s = 800;
    to.dpi = {250, 300, 500};
    const World there = make_world(seed, to);
    test::SimulatedShop taught({make_world(seed, from), there});
    for (int grid = 0; grid < 3; ++grid) taught.burn_grid(twelve("bench"));
    const auto carried =
        table::carried_by_surface(taught.surfaces.glass(surface::surface_name(kGlass, "bench")), from, to);
    if (!carried) continue;
    CarryTrial trial;
    trial.seed = seed;
    trial.carried = there.loss(*carried);
    const auto weigh = [&](const test::SimulatedShop& simulated, const std::optional<shop::Setting>& setting,
                           const table::TableRecord& record) {
      return table::weigh_adoption(simulated.shop, simulated.evidence, simulated.surfaces, kGlass, "barn",
                                   setting, record);
    };
    table::TableRecord record;
    record.history.push_back(
        table::adopted_row(weigh(taught, carried, {}), "Simulated", "carried from bench", kNow, "0.1.0"));
    const auto believe = [&](const std::string& what, const test::SimulatedShop& simulated,
                             const shop::Setting& setting) {
      trial.beliefs[what] = {there.chance(setting),
                             simulated.surfaces.glass(surface::surface_name(kGlass, "barn"))
                                 .chance(surface::physical_setting(setting, to))};
    };
    trial.beliefs["1 carried, by carry"] = {
        there.chance(*carried),
        table::carried_chance(taught.surfaces.glass(surface::surface_name(kGlass, "bench")), *carried, from,
                              to)};
    believe("2 carried, by its own fit without a swatch", taught, *carried);
    test::SimulatedShop logged = taught;
    const auto one_piece = surface::observations_of(logged.shop, {piece_at(*carried, "barn", there, 0)});
    logged.evidence.observations.insert(logged.evidence.observations.end(), one_piece.begin(),
                                        one_piece.end());
    logged.surfaces = surface::fit_shop(logged.shop, logged.evidence.observations);
    believe("3 carried, after one piece", logged, *carried);
    const auto judge = [&](const std::string& when, const test::SimulatedShop& simulated, double& own,
                           double& kept) {
      const table::AdoptionCase adoption = weigh(simulated, std::nullopt, record);
      believe("4 carried, " + when, simulated, *carried);
      if (adoption.proposed) believe("5 best of its own fit, " + when, simulated, adoption.proposed->setting);
      own = adoption.proposed ? there.loss(adoption.proposed->setting) : there.best.chance;
      kept = adoption.proposed && !adoption.needs_reason ? own : trial.carried;
    };
    test::SimulatedShop confirmed = taught;
    choice::GridRequest confirm = twelve("barn");
    spread_round(confirm, *carried, to, table::carry_doubt(from, to));
    confirm.swatches = 6;
    confirm.design = "spread";
    confirmed.burn_grid(confirm);
    judge("after the confirming 6", confirmed, trial.own_six, trial.kept_six);
    confirmed.burn_grid(twelve("barn"));
    judge("after 6 and 12", confirmed, trial.own_eighteen, trial.kept_eighteen);
    choice::GridRequest targeted = twelve("barn");
    targeted.design = "targeted";
    taught.burn_grid(targeted);
    judge("after a targeted 12", taught, trial.own_twelve, trial.kept_twelve);
    trials.push_back(trial);
    if (rows != nullptr) {
      *rows << seed << ',' << trial.carried << ',' << trial.own_six << ',' << trial.kept_six << ','
            << trial.own_twelve << ',' << trial.kept_twelve << ',' << trial.own_eighteen << ','
            << trial.kept_eighteen << std::endl;
    }
  }
  return trials;
}

void print_carries(std::ostream& out, const std::vector<CarryTrial>& trials) {
  if (trials.empty()) return;
  const auto print = [&](const std::string& what, double CarryTrial::*member) {
    std::vector<double> values;
    for (const CarryTrial& trial : trials) values.push_back(trial.*member);
    summarise(out, what, values);
  };
  out << trials.size()
      << " glasses\n\n| loss on the second machine | mean | median | p90 | worst |\n|---|---|---|---|---|\n";
  print("carried, no swatch burned there", &CarryTrial::carried);
  print("best of its own fit after the confirming 6", &CarryTrial::own_six);
  print("carried kept unless replaced, after the confirming 6", &CarryTrial::kept_six);
  print("best of its own fit after a targeted 12", &CarryTrial::own_twelve);
  print("carried kept unless replaced, after a targeted 12", &CarryTrial::kept_twelve);
  print("best of its own fit after 6 and 12", &CarryTrial::own_eighteen);
  print("carried kept unless replaced, after 6 and 12", &CarryTrial::kept_eighteen);
  out << "\n| chance there of | trials | mean promise | mean truth | root mean square | truth inside the 90 "
         "% "
         "interval |\n|---|---|---|---|---|---|\n";
  std::map<std::string, std::vector<CarryTrial::Belief>> beliefs;
  for (const CarryTrial& trial : trials)
    for (const auto& [what, belief] : trial.beliefs) beliefs[what].push_back(belief);
  for (const auto& [what, all] : beliefs) {
    double promise = 0, truth = 0, square = 0;
    int inside = 0;
    for (const auto& [true_chance, believed] : all) {
      promise += believed.chance;
      truth += true_chance;
      square += (believed.chance - true_chance) * (believed.chance - true_chance);
      inside += believed.low <= true_chance && true_chance <= believed.high;
    }
    const double count = static_cast<double>(all.size());
    out << "| " << what.substr(2) << " | " << all.size() << " | " << promise / count << " | " << truth / count
        << " | " << std::sqrt(square / count) << " | " << inside << " |\n";
  }
}

std::vector<PieceTrial> simulate_pieces(std::uint64_t first, int glasses) {
  std::vector<PieceTrial> trials;
  for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(glasses); ++seed) {
    World world = make_world(seed, drawn_machine(seed), seed % 2 == 1);
    world.bar.chance = kAdoptionTarget;
    test::SimulatedShop simulated({world});
    for (int grid = 0; grid < 2; ++grid) simulated.burn_grid(twelve("bench"));
    const std::string name = surface::surface_name(kGlass, "bench");
    const auto best_of = [&](const test::SimulatedShop& there) {
      choice::ChoiceOptions options;
      options.plan_ahead = false;
      return choice::choose_setting(there.shop, there.evidence, there.surfaces, kGlass, "bench", options)
          .best;
    };
    const auto best = best_of(simulated);
    if (!best) continue;
    std::vector<grades::PieceRow> rows;
    int good = 0;
    for (int i = 0; i < 30; ++i) {
      rows.push_back(piece_at(best->setting, "bench", world, i));
      good += table::is_good(rows.back(), simulated.shop.acceptance).value_or(false);
      if (i + 1 != 10 && i + 1 != 30) continue;
      PieceTrial trial;
      trial.pieces = i + 1;
      trial.good = good;
      trial.truth = world.chance(best->setting);
      trial.before = best->chance;
      test::SimulatedShop after = simulated;
      const auto seen_pieces = surface::observations_of(after.shop, rows);
      after.evidence.observations.insert(after.evidence.observations.end(), seen_pieces.begin(),
                                         seen_pieces.end());
      after.surfaces = surface::fit_shop(after.evidence.observations, surface::shop_fit_options(after.shop));
      const surface::PhysicalSetting at = surface::physical_setting(best->setting, world.machine);
      trial.after = after.surfaces.glass(name).chance(at);
      const auto now = best_of(after);
      trial.best_now = now->chance;
      trial.best_truth = world.chance(now->setting);
      trials.push_back(trial);
    }
  }
  return trials;
}

void print_pieces(std::ostream& out, const std::vector<PieceTrial>& trials) {
  out << "| pieces | rejects | trials | what | believed less true | root mean square | inside the 90 % "
         "interval |\n"
         "|---|---|---|---|---|---|---|\n"
      << std::fixed << std::setprecision(3);
  for (const int pieces : {10, 30}) {
    for (int some = 0; some < 3; ++some) {
      const auto row = [&](const char* what,
                           const std::function<surface::ChanceInterval(const PieceTrial&)>& of,
                           double PieceTrial::*truth, bool intervals) {
        double sum = 0, square = 0;
        int count = 0, inside = 0;
        for (const PieceTrial& trial : trials) {
          const int rejects = trial.pieces - trial.good;
          if (trial.pieces != pieces || (rejects == 0 ? 0 : rejects * 5 <= pieces ? 1 : 2) != some) continue;
          const surface::ChanceInterval believed = of(trial);
          const double gap = believed.chance - trial.*truth;
          sum += gap;
          square += gap * gap;
          inside += believed.low <= trial.*truth && trial.*truth <= believed.high;
          ++count;
        }
        if (count == 0) return;
        out << "| " << pieces << " | "
            << (some == 0   ? "none"
                : some == 1 ? "up to a fifth"
                            : "more")
            << " | " << count << " | " << what << " | " << sum / count << " | " << std::sqrt(square / count)
            << " | ";
        if (intervals) out << static_cast<double>(inside) / count;
        out << " |\n";
      };
      row(
          "before",
          [](const PieceTrial& t) {
            return surface::ChanceInterval{t.before, 0, 0};
          },
          &PieceTrial::truth, false);
      row(
          "with the pieces", [](const PieceTrial& t) { return t.after; }, &PieceTrial::truth, true);
      row(
          "best setting now",
          [](const PieceTrial& t) {
            return surface::ChanceInterval{t.best_now, 0, 0};
          },
          &PieceTrial::best_truth, false);
    }
  }
}

std::vector<PowerLossTrial> simulate_power_losses(std::uint64_t first, int glasses) {
  constexpr int kRuns = 400;
  constexpr int kPieces = 200;
  std::vector<PowerLossTrial> trials;
  for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(glasses); ++seed) {
    const shop::Machine machine = drawn_machine(seed);
    const World world = make_world(seed, machine, true);
    for (const double loss : {0.0, 0.1, 0.2}) {
      simulator::Exposure tired = simulator::exposure_of(machine, world.best.setting);
      tired.power_w *= 1 - loss;
      PowerLossTrial trial;
      trial.seed = seed;
      trial.loss = loss;
      trial.promised = world.best.chance;
      trial.chance = simulator::true_chance(world.glass, tired, world.bar);
      numerics::RandomEngine random(seed);
      std::vector<int> delays;
      for (int run = 0; run < kRuns; ++run) {
        std::vector<bool> good;
        for (int i = 0; i < kPieces; ++i) good.push_back(random.uniform() < trial.chance);
        const table::StaleCheck check = table::check_pieces(trial.promised, good);
        if (check.alarm) delays.push_back(check.alarm_at);
      }
      std::sort(delays.begin(), delays.end());
      trial.alarms = static_cast<double>(delays.size()) / kRuns;
      trial.alarms_in_100 =
          static_cast<double>(std::upper_bound(delays.begin(), delays.end(), 100) - delays.begin()) / kRuns;
      trial.median_delay = delays.empty() ? 0 : delays[delays.size() / 2];
      trials.push_back(trial);
    }
  }
  return trials;
}

void print_power_losses(std::ostream& out, const std::vector<PowerLossTrial>& trials) {
  out << "| power lost | chance falls by | glasses | mean chance before, after | alarm within 100, 200 | "
         "median "
         "delay, pieces |\n|---|---|---|---|---|---|\n"
      << std::fixed << std::setprecision(2);
  struct Class {
    double loss;
    double from;  // how far the chance falls
    double below;
    const char* name;
  };
  for (const Class& one : {Class{0.0, -1, 1, "none"}, Class{0.1, -1, 0.05, "under 0.05"},
                           Class{0.1, 0.05, 1, "0.05 and more"}, Class{0.2, -1, 0.05, "under 0.05"},
                           Class{0.2, 0.05, 0.15, "0.05 to 0.15"}, Class{0.2, 0.15, 1, "0.15 and more"}}) {
    std::vector<double> before, after, hundred, all, delay;
    for (const PowerLossTrial& trial : trials) {
      const double fall = trial.promised - trial.chance;
      if (trial.loss != one.loss || fall < one.from || fall >= one.below) continue;
      before.push_back(trial.promised);
      after.push_back(trial.chance);
      hundred.push_back(trial.alarms_in_100);
      all.push_back(trial.alarms);
      if (trial.median_delay > 0) delay.push_back(trial.median_delay);
    }
    if (before.empty()) continue;
    out << "| " << std::setprecision(0) << 100 * one.loss << " % | " << one.name << " | " << before.size()
        << std::setprecision(2) << " | " << mean_of(before) << ", " << mean_of(after) << " | "
        << mean_of(hundred) << ", " << mean_of(all) << " | " << std::setprecision(0)
        << (delay.empty() ? 0 : sample_quantile(delay, 0.5)) << " |\n";
  }
}

namespace {

constexpr std::array<double, 4> kLosses{0.0, 0.1, 0.2, 0.35};

}  // namespace

std::vector<DriftTrial> simulate_drift(std::uint64_t first, int glasses) {
  std::vector<DriftTrial> trials;
  for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(glasses); ++seed) {
    const World world = make_world(seed, drawn_machine(seed), true);
    for (const bool reference : {false, true}) {
      test::SimulatedShop before({world});
      choice::GridRequest request = twelve("bench");
      request.reference = reference;
      request.in_force = world.best.setting;
      for (int grid = 0; grid < 3; ++grid) before.burn_grid(request);
      before.month = "2027-08";
      for (const double loss : kLosses) {
        for (const int swatches : {6, 12}) {
          test::SimulatedShop after = before;
          after.delivered = 1 - loss;
          request.swatches = swatches;
          after.burn_grid(request);
          DriftTrial trial{loss, reference, swatches};
          for (const surface::PowerTrend& trend : after.surfaces.power_trends()) {
            trial.change = trend.change;
            trial.inside = trend.low <= -loss && -loss <= trend.high;
            trial.power_down |= trend.high < 0;
            trial.power_up |= trend.low > 0;
          }
          const auto& surface = after.surfaces.glass(surface::surface_name(kGlass, "bench"));
          for (const surface::Finding& finding : surface::diagnose(surface, after.evidence.observations)) {
            trial.grid_apart |= finding.kind == surface::FindingKind::glass_changed && finding.size < 0;
          }
          trials.push_back(trial);
        }
      }
    }
  }
  return trials;
}

void print_drift(std::ostream& out, const std::vector<DriftTrial>& trials) {
  out << "| power lost | swatches then | reference swatch | glasses | told that power is down | up | or that "
         "the grid is as with less power | mean change told | true one inside |\n"
         "|---|---|---|---|---|---|---|---|---|\n";
  for (const double loss : kLosses) {
    for (const int swatches : {6, 12}) {
      for (const bool reference : {false, true}) {
        int count = 0, down = 0, up = 0, apart = 0, inside = 0;
        double change = 0;
        for (const DriftTrial& trial : trials) {
          if (trial.loss != loss || trial.swatches != swatches || trial.reference != reference) continue;
          ++count;
          down += trial.power_down;
          up += trial.power_up;
          apart += trial.grid_apart;
          inside += trial.inside;
          change += trial.change;
        }
        out << "| " << 100 * loss << " % | " << swatches << " | " << (reference ? "yes" : "no") << " | "
            << count << " | " << down << " | " << up << " | " << apart << " | "
            << static_cast<double>(std::lround(1000 * change / std::max(1, count))) / 10 << " % | " << inside
            << " |\n";
      }
    }
  }
}

}  // namespace frostcal::bench
