#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>
#include <stdexcept>

#include "bench/child_program.hpp"
#include "bench/strategy.hpp"
#include "design/grid_file.hpp"
#include "shop/shop_file.hpp"

namespace frostcal::bench {
namespace {

using nlohmann::json;

constexpr int kKnownSwatches = 48;
constexpr const char* kGlass = "hidden";

std::string known_name(int number) {
  return "known-" + std::to_string(number);
}

std::string shop_text(const World& world, int known_glasses) {
  const shop::Machine& m = world.machine;
  std::ostringstream out;
  out.imbue(std::locale::classic());
  out << "[shop]\nname = \"Benchmark\"\n\n[acceptance]\nfrost = " << world.bar.frost
      << "\nchipping = " << world.bar.chipping << "\nchance = 0.90\n\n[[machine]]\nname = \"" << m.name
      << "\"\nrated_power_w = " << m.rated_power_w << "\ntop_speed_mm_s = " << m.top_speed_mm_s
      << "\nspot_mm = " << m.spot_mm << "\ndpi = [";
  for (std::size_t i = 0; i < m.dpi.size(); ++i) out << (i == 0 ? "" : ", ") << m.dpi[i];
  out << "]\npower_pct = { min = 5, max = 100, step = 1 }\nspeed_pct = { min = 5, max = 100, step = 1 }\n"
      << "screens = [\"stucki\"]\nrecipes_per_burn = 24\n\n[[vessel]]\nname = \"jug\"\ndiameter_mm = 88\n"
      << "panel_mm = 95\nseams = 2\n";
  for (int glass = 0; glass <= known_glasses; ++glass) {
    out << "\n[[glass]]\nname = \"" << (glass == 0 ? kGlass : known_name(glass))
        << "\"\nfamily = \"soda-lime\"\ncolour = \"clear\"\nvessel = \"jug\"\n";
  }
  return out.str();
}

// A shop folder of its own, with frostcal to run in it.
class BenchShop {
 public:
  BenchShop(const FrostcalRun& run, const World& world, const std::string& name) : program_(run.program) {
    folder_ = std::filesystem::path(run.work_folder) / (name + '-' + std::to_string(world.seed));
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_ / "grids");
    std::filesystem::create_directories(folder_ / "results");
    std::ofstream(folder_ / "grids" / "shop.toml") << shop_text(world, run.known_glasses);
    shop_ = shop::read_shop(folder_);
  }
  ~BenchShop() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }

  const shop::Shop& shop() const { return shop_; }

  Finished frostcal(std::vector<std::string> arguments) const {
    arguments.insert(arguments.begin(), program_);
    arguments.insert(arguments.end(), {"--shop", folder_.string()});
    Finished finished = run_program(arguments);
    if (finished.status > 1) {
      std::string command;
      for (const std::string& argument : arguments) command += argument + ' ';
      throw std::runtime_error(command + "ended with status " + std::to_string(finished.status));
    }
    return finished;
  }

  void grade(const World& world, const std::string& grid_id) {
    const design::Grid grid = design::read_grid(shop_, grid_id);
    const auto file = folder_ / "grades.csv";
    std::ofstream out(file);
    out << "swatch,frost,chipping,note\n";
    for (const design::Swatch& swatch : grid.swatches) {
      const double turn = 2.0 * swatch.y_mm / shop_.vessel(grid.vessel).diameter_mm(swatch.x_mm);
      const auto grades = world.burn(swatch.setting, {grid_id, swatch.bottle, swatch.id, turn});
      out << swatch.id << ',' << grades.frost << ',' << grades.chipping << ",simulated\n";
      bottles_.insert(swatch.bottle);
    }
    out.close();
    frostcal({"grade", grid_id, "--from", file.string(), "--grader", "simulated"});
  }

  Outcome fitted(Outcome so_far) const {
    const json fit = json::parse(frostcal({"fit", kGlass, "--json"}).output);
    const json& best = fit.at("glass").at(0).at("best");
    if (best.is_null()) return so_far;
    so_far.chosen = shop::Setting{best.at("power_pct"), best.at("speed_pct"), best.at("dpi"),
                                  best.at("tone_pct"),  best.at("screen"),    best.at("passes")};
    so_far.promise = Outcome::Promise{best.at("chance"), best.at("chance_low"), best.at("chance_high")};
    return so_far;
  }

  int bottles() const { return static_cast<int>(bottles_.size()); }
  void forget_bottles() { bottles_.clear(); }

 private:
  std::string program_;
  std::filesystem::path folder_;
  shop::Shop shop_;
  std::set<std::string> bottles_;
};

class FrostcalStrategy : public Strategy {
 public:
  explicit FrostcalStrategy(FrostcalRun run) : run_(std::move(run)) {}

  std::string name() const override {
    std::string text = "frostcal plan, opening " + std::to_string(run_.opening) + ", then " +
                       std::to_string(run_.batch) + "s";
    if (run_.known_glasses > 0) text += ", " + std::to_string(run_.known_glasses) + " glasses known";
    return text;
  }

  std::vector<Outcome> run(const World& world, const std::vector<int>& budgets) override {
    BenchShop shop(run_, world,
                   "plan-" + std::to_string(run_.batch) + '-' + std::to_string(run_.known_glasses));
    for (int known = 1; known <= run_.known_glasses; ++known) {
      World other =
          make_world(world.seed * 100 + 1000 + static_cast<std::uint64_t>(known), world.machine, world.tight);
      Outcome so_far;
      while (so_far.swatches < kKnownSwatches) plan_and_grade(shop, other, known_name(known), 12, so_far);
    }
    shop.forget_bottles();
    std::vector<Outcome> outcomes;
    Outcome so_far;
    for (const int budget : budgets) {
      while (so_far.swatches < budget) {
        const int wanted =
            std::min(so_far.swatches == 0 ? run_.opening : run_.batch, budget - so_far.swatches);
        plan_and_grade(shop, world, kGlass, wanted, so_far);
      }
      outcomes.push_back(shop.fitted(so_far));
    }
    return outcomes;
  }

 private:
  void plan_and_grade(BenchShop& shop, const World& world, const std::string& glass, int wanted,
                      Outcome& so_far) const {
    const std::string seed = std::to_string(world.seed * 1000 + static_cast<std::uint64_t>(so_far.swatches));
    const json plan = json::parse(shop.frostcal({"plan", glass, "--swatches", std::to_string(wanted),
                                                 "--seed", seed, "--yes", "--json"})
                                      .output);
    shop.grade(world, plan.at("grid"));
    so_far.swatches += plan.at("swatches").get<int>();
    so_far.burns += plan.at("burns").get<int>();
    so_far.bottles = shop.bottles();
  }

  FrostcalRun run_;
};

}  // namespace

std::unique_ptr<Strategy> frostcal_strategy(FrostcalRun run) {
  return std::make_unique<FrostcalStrategy>(std::move(run));
}

}  // namespace frostcal::bench
