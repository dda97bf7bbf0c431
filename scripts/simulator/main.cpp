// frostcal_simulate: stands in for the glass and the operator where there is no laser at hand.
#include <boost/program_options.hpp>
#include <exception>
#include <iostream>
#include <nlohmann/json.hpp>
#include <optional>
#include <sstream>
#include <string>

#include "design/grid_file.hpp"
#include "grades/grade_file.hpp"
#include "shop/shop_file.hpp"
#include "simulator/grading.hpp"
#include "simulator/truth.hpp"
#include "textfile/number_text.hpp"

namespace {

namespace options = boost::program_options;
using frostcal::simulator::HiddenGlass;

constexpr const char* kHelp =
    "usage: frostcal_simulate --shop DIR --glass-seed N [--kind NAME] --grid GRID [--seed N]\n"
    "       frostcal_simulate --shop DIR --glass-seed N [--kind NAME] --machine NAME [--truth "
    "P,S,DPI[,TONE]]...\n\n"
    "First form: grades a planned grid as a simulated operator on a hidden glass and prints the grades as "
    "CSV\n"
    "(swatch, frost, chipping, note); every note says that the row is simulated. Second form: prints the "
    "true\n"
    "best setting and chance of that glass on a machine, and the true chance at each setting asked for, as "
    "JSON.\n\n";

// Angle round the bottle of a swatch, for the run-out of the rotary.
double turn_of(const frostcal::shop::Vessel& vessel, const frostcal::design::Swatch& swatch) {
  return 2.0 * swatch.y_mm / vessel.diameter_mm(swatch.x_mm);
}

void print_grades(const frostcal::shop::Shop& shop, const std::string& grid_text, const HiddenGlass& glass,
                  std::uint64_t seed) {
  const auto grid = frostcal::design::read_grid(shop, frostcal::design::resolve_grid_id(shop, grid_text));
  const auto& machine = shop.machine(grid.machine);
  const auto& vessel = shop.vessel(grid.vessel);
  std::cout << "swatch,frost,chipping,note\n";
  for (const auto& swatch : grid.swatches) {
    // One turn rate for the whole bottle: where the wall is thicker than at the panel's middle, lines lie
    // wider.
    const double pitch_scale = vessel.diameter_mm(swatch.x_mm) / vessel.diameter_mm(0);
    const auto grades = frostcal::simulator::grade_swatch(
        glass, seed, frostcal::simulator::exposure_of(machine, swatch.setting, pitch_scale),
        {grid.id, swatch.bottle, swatch.id, turn_of(vessel, swatch)});
    std::cout << swatch.id << ',' << grades.frost << ',' << grades.chipping << ','
              << frostcal::grades::kSimulated << '\n';
  }
}

frostcal::shop::Setting parse_setting(const std::string& text, const frostcal::shop::Machine& machine) {
  std::vector<double> numbers;
  std::istringstream parts(text);
  for (std::string part; std::getline(parts, part, ',');) {
    const auto number = frostcal::textfile::parse_number(part);
    if (!number) throw std::runtime_error("--truth wants power,speed,dpi[,tone], not " + text);
    numbers.push_back(*number);
  }
  if (numbers.size() == 3) numbers.push_back(100);
  if (numbers.size() != 4) throw std::runtime_error("--truth wants power,speed,dpi[,tone], not " + text);
  return {numbers[0], numbers[1], static_cast<int>(numbers[2]), numbers[3], machine.screens.front(), 1};
}

nlohmann::ordered_json as_json(const frostcal::shop::Setting& setting, double chance) {
  return {{"power_pct", setting.power_pct},
          {"speed_pct", setting.speed_pct},
          {"dpi", setting.dpi},
          {"tone_pct", setting.tone_pct},
          {"chance", chance}};
}

void print_truth(const frostcal::shop::Shop& shop, const std::string& machine_name, const HiddenGlass& glass,
                 const std::vector<std::string>& asked) {
  const auto& machine = shop.machine_or_default(machine_name);
  const auto best = frostcal::simulator::best_setting(
      glass, machine, frostcal::simulator::all_settings(machine), shop.acceptance);
  nlohmann::ordered_json out{{"kind", frostcal::simulator::to_text(glass.kind)}, {"machine", machine.name}};
  out["best"] = as_json(best.setting, best.chance);
  out["at"] = nlohmann::ordered_json::array();
  for (const std::string& text : asked) {
    const auto setting = parse_setting(text, machine);
    out["at"].push_back(
        as_json(setting, frostcal::simulator::true_chance(
                             glass, frostcal::simulator::exposure_of(machine, setting), shop.acceptance)));
  }
  std::cout << out.dump() << '\n';
}

int run(int argc, char** argv) {
  options::options_description known("options");
  auto add = known.add_options();
  add("help", "print this");
  add("shop", options::value<std::string>()->default_value("."), "shop folder");
  add("grid", options::value<std::string>(), "grid to grade");
  add("machine", options::value<std::string>()->default_value(""),
      "machine of the truth; default: the first");
  add("glass-seed", options::value<std::uint64_t>()->required(), "which hidden glass");
  add("kind", options::value<std::string>(), "wide, narrow, chip-limited, ...; default: by the seed");
  add("seed", options::value<std::uint64_t>()->default_value(1), "bottles, days and looks");
  add("truth", options::value<std::vector<std::string>>()->default_value({}, ""),
      "setting to state the chance of");
  options::variables_map given;
  options::store(options::parse_command_line(argc, argv, known), given);
  if (given.count("help") > 0) {
    std::cout << kHelp << known;
    return 0;
  }
  options::notify(given);
  std::optional<frostcal::simulator::Kind> kind;
  if (given.count("kind") > 0) {
    kind = frostcal::simulator::kind_named(given["kind"].as<std::string>());
    if (!kind) throw std::runtime_error("unknown --kind " + given["kind"].as<std::string>());
  }
  const auto shop = frostcal::shop::read_shop(given["shop"].as<std::string>());
  const HiddenGlass glass = frostcal::simulator::draw_glass(given["glass-seed"].as<std::uint64_t>(), kind);
  if (given.count("grid") > 0) {
    print_grades(shop, given["grid"].as<std::string>(), glass, given["seed"].as<std::uint64_t>());
  } else {
    print_truth(shop, given["machine"].as<std::string>(), glass,
                given["truth"].as<std::vector<std::string>>());
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const std::exception& fault) {
    std::cerr << "frostcal_simulate: " << fault.what() << '\n';
    return 2;
  }
}
