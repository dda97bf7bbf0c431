// How much chance is lost against the best possible setting, by strategy and swatches burned. The glasses are
// those of scripts/simulator; frostcal is driven through its command line.
#include <algorithm>
#include <boost/program_options.hpp>
#include <chrono>
#include <fstream>
#include <iostream>
#include <stdexcept>

#include "bench/benchmark_program.hpp"
#include "bench/loss_table.hpp"
#include "bench/strategy.hpp"

namespace {

namespace options = boost::program_options;
using namespace frostcal::bench;

const std::string kProgram = "loop_benchmark";

struct Wanted {
  std::vector<int> budgets{12, 24, 36, 48, 72, 100};
  std::vector<std::string> names;
  FrostcalRun run;
  std::string python;
  std::string rival;
};

std::unique_ptr<Strategy> strategy_named(const std::string& name, const Wanted& wanted) {
  FrostcalRun run = wanted.run;
  if (name == "lattice") return lattice_strategy({300});
  if (name == "lattice-dpi") return lattice_strategy({200, 300, 400, 600});
  if (name == "one-factor") return one_factor_strategy();
  SurfaceRun inside;
  if (name == "random") inside.points = Points::random;
  if (name == "random") inside.batch = 12;
  if (name == "targeted-12") inside.batch = 12;
  if (name == "targeted-pooled") inside.known_glasses = 4;
  if (name == "random" || name.rfind("targeted-", 0) == 0) return surface_strategy(inside);
  if (name == "gp") return gaussian_process_strategy(wanted.python, wanted.rival, 12);
  if (name == "inside-6") return planned_strategy({{12, 6}});
  if (name == "inside-12") return planned_strategy({{12}});
  if (name == "plan-12") run.batch = 12;
  if (name == "pooled") run.known_glasses = 4;
  if (name == "plan-6" || name == "plan-12" || name == "pooled") return frostcal_strategy(run);
  throw std::runtime_error("unknown strategy " + name);
}

void run_strategy(Strategy& strategy, const std::vector<World>& worlds, const std::vector<int>& budgets,
                  std::vector<LossRow>& rows) {
  const auto start = std::chrono::steady_clock::now();
  for (const World& world : worlds) {
    const std::vector<Outcome> outcomes = strategy.run(world, budgets);
    for (std::size_t i = 0; i < outcomes.size(); ++i) {
      LossRow row;
      row.strategy = strategy.name();
      row.glass_seed = world.glass.seed;
      row.kind = frostcal::simulator::to_text(world.glass.kind);
      row.budget = budgets[i];
      row.outcome = outcomes[i];
      row.best = world.best.chance;
      row.truth = outcomes[i].chosen ? world.chance(*outcomes[i].chosen) : 0.0;
      rows.push_back(row);
    }
    std::cerr << '.' << std::flush;
  }
  const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start;
  std::cerr << ' ' << strategy.name() << ": " << taken.count() << " s\n";
}

void run(int argc, char** argv) {
  Wanted wanted;
  bool tight = false;
  options::options_description own;
  auto add = own.add_options();
  add("strategy", options::value(&wanted.names)->multitoken()->composing(),
      "lattice, lattice-dpi, one-factor, random, gp, plan-6, plan-12, pooled (command line), targeted-6, "
      "targeted-12, targeted-pooled, inside-6, inside-12 (in process); default: all but inside");
  add("budgets", options::value(&wanted.budgets)->multitoken(),
      "swatches at which the outcome is taken, ascending (default 12 24 36 48 72 100)");
  add("tight", options::bool_switch(&tight), "glasses with tighter windows and more noise");
  add("frostcal", options::value(&wanted.run.program)->default_value("src/frostcal"), "the tool");
  add("work", options::value(&wanted.run.work_folder)->default_value("loop-shops"), "folder for the shops");
  add("python", options::value(&wanted.python)->default_value("/usr/bin/python3"), "for gp");
  add("rival", options::value(&wanted.rival)->default_value("scripts/bench/gaussian_process_rival.py"),
      "for gp");
  GlassOptions glass;
  if (!read_options(kProgram, argc, argv, own, glass)) return;
  if (wanted.names.empty()) {
    wanted.names = {"lattice", "lattice-dpi", "one-factor",  "random",         "gp", "plan-6", "plan-12",
                    "pooled",  "targeted-6",  "targeted-12", "targeted-pooled"};
  }

  std::vector<World> worlds;
  for (std::uint64_t seed = glass.first; worlds.size() < static_cast<std::size_t>(glass.glasses); ++seed) {
    worlds.push_back(make_world(seed, drawn_machine(seed), tight));
  }
  std::vector<LossRow> rows;
  std::vector<std::string> names;
  for (const std::string& name : wanted.names) {
    const auto strategy = strategy_named(name, wanted);
    names.push_back(strategy->name());
    run_strategy(*strategy, worlds, wanted.budgets, rows);
    if (!glass.rows.empty()) {
      std::ofstream file(glass.rows);
      print_loss_rows(file, rows);
    }
  }
  std::vector<double> best;
  for (const World& world : worlds) best.push_back(world.best.chance);
  std::cout << worlds.size() << (tight ? " tight" : "") << " hidden glasses (seeds " << glass.first << " to "
            << glass.first + worlds.size() - 1 << "), " << worlds.front().settings.size()
            << " settings each; best possible chance: median " << sample_quantile(best, 0.5) << ", lowest "
            << *std::min_element(best.begin(), best.end()) << '\n';
  print_loss_table(std::cout, names, wanted.budgets, rows);
}

}  // namespace

int main(int argc, char** argv) {
  return exit_status(kProgram, [&] { run(argc, argv); });
}
