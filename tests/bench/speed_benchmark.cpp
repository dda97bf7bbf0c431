// How long frostcal's computations take inside one process. Prints one line each: name, tab, processor
// milliseconds (median), tab, a remark. scripts/bench/speed puts them beside R's on the same data.
#include <sys/resource.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <exception>
#include <fstream>
#include <functional>
#include <iostream>
#include <string>
#include <vector>

#include "choice/best_setting.hpp"
#include "choice/targeted_grid.hpp"
#include "design/exchange.hpp"
#include "design/model_terms.hpp"
#include "numerics/least_squares.hpp"
#include "numerics/random_engine.hpp"
#include "sheet/burn_page.hpp"
#include "sheet/pdf_writer.hpp"
#include "surface/cumulative_link.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_surface.hpp"

namespace {

using namespace frostcal;

struct Milliseconds {
  double processor = 0;
  double clock = 0;
};

Milliseconds now() {
  const auto of = [](clockid_t id) {
    timespec t{};
    clock_gettime(id, &t);
    return static_cast<double>(t.tv_sec) * 1e3 + static_cast<double>(t.tv_nsec) * 1e-6;
  };
  return {of(CLOCK_PROCESS_CPUTIME_ID), of(CLOCK_MONOTONIC)};
}

/// Median times of one call, over `repeats` batches of `inner` calls.
Milliseconds median_ms(int repeats, int inner, const std::function<void()>& work) {
  std::vector<double> processor, clock;
  for (int i = 0; i < repeats; ++i) {
    const Milliseconds start = now();
    for (int k = 0; k < inner; ++k) work();
    const Milliseconds end = now();
    processor.push_back((end.processor - start.processor) / inner);
    clock.push_back((end.clock - start.clock) / inner);
  }
  std::sort(processor.begin(), processor.end());
  std::sort(clock.begin(), clock.end());
  return {processor[processor.size() / 2], clock[clock.size() / 2]};
}

void print(const std::string& name, const Milliseconds& ms, const std::string& remark = "") {
  std::printf("%s\t%.4f\t%.4f\t%s\n", name.c_str(), ms.processor, ms.clock, remark.c_str());
  std::fflush(stdout);
}

shop::Machine bench_machine(double lowest_tone) {
  shop::Machine machine;
  machine.name = "bench";
  machine.rated_power_w = 60;
  machine.top_speed_mm_s = 1200;
  machine.dpi = {200, 250, 300, 400, 500, 600};
  machine.power_pct = {5, 100, 1};
  machine.speed_pct = {5, 100, 1};
  machine.tone_pct = {lowest_tone, 100, lowest_tone < 100 ? (100 - lowest_tone) / 10 : 10};
  machine.screens = {"stucki"};
  return machine;
}

/// Grades of invented glasses: an ordinal second-order truth, one swatch a row, 12 swatches a bottle.
std::vector<surface::Observation> made_up_shop(int glasses, int swatches, std::uint64_t seed) {
  const shop::Machine machine = bench_machine(100);
  numerics::RandomEngine random(seed);
  std::vector<surface::Observation> all;
  for (int g = 0; g < glasses; ++g) {
    const std::string glass = "glass-" + std::to_string(g + 1);
    const double shift = 0.3 * random.normal();
    double bottle = 0;
    for (int i = 0; i < swatches; ++i) {
      if (i % 12 == 0) bottle = 0.3 * random.normal();
      const double power = 5 + static_cast<double>(random.below(96));
      const double speed = 5 + static_cast<double>(random.below(96));
      const int dpi = machine.dpi[random.below(machine.dpi.size())];
      surface::Observation o;
      o.glass = glass;
      o.bottle = glass + "-" + std::to_string(i / 12 + 1);
      o.burn = o.bottle + "/" + std::to_string(i / 6 % 2 + 1);
      o.grader = "A";
      o.swatch = o.bottle + " " + std::to_string(i);
      o.setting = surface::physical_setting({power, speed, dpi, 100, "stucki", 1}, machine);
      const double dose = std::log(power / speed) + std::log(dpi / 300.0) - shift;
      o.frost = std::clamp(static_cast<int>(std::lround(3.5 + 1.6 * dose - 0.7 * dose * dose + bottle +
                                                        0.5 * random.normal())),
                           0, 5);
      o.chipping = std::clamp(
          static_cast<int>(std::lround(0.9 * dose + 0.5 * std::log(power / 50) + 0.4 * random.normal())), 0,
          3);
      all.push_back(std::move(o));
    }
  }
  return all;
}

surface::FitOptions bench_options() {
  shop::Shop shop;
  shop.machines = {bench_machine(100)};
  return surface::shop_fit_options(shop);
}

/// ln power, ln speed and ln dpi in units that span about -1..1.
Eigen::MatrixXd coded(const std::vector<surface::Observation>& rows) {
  Eigen::MatrixXd x(static_cast<Eigen::Index>(rows.size()), 3);
  for (Eigen::Index i = 0; i < x.rows(); ++i) {
    const surface::PhysicalSetting& s = rows[i].setting;
    x.row(i) << std::log(s.power_w / 13.4) / 1.5, std::log(s.speed_mm_s / 268) / 1.5,
        std::log(s.pitch_mm / 0.0733) / 0.55;
  }
  return x;
}

void write_rows(const std::string& file, const std::vector<surface::Observation>& rows) {
  const Eigen::MatrixXd x = coded(rows);
  std::ofstream out(file);
  out.precision(17);
  out << "glass,bottle,x1,x2,x3,frost\n";
  for (Eigen::Index i = 0; i < x.rows(); ++i) {
    out << rows[i].glass << ',' << rows[i].bottle << ',' << x(i, 0) << ',' << x(i, 1) << ',' << x(i, 2) << ','
        << rows[i].frost.lowest << '\n';
  }
}

void against_r(const std::string& folder) {
  const std::vector<surface::Observation> one = made_up_shop(1, 60, 7);
  write_rows(folder + "/one.csv", one);
  const Eigen::MatrixXd terms = design::model_matrix(coded(one), design::Order::second);
  std::vector<int> grades;
  for (const surface::Observation& o : one) grades.push_back(o.frost.lowest);  // no grade of these is a range
  double log_likelihood = 0;
  const Milliseconds link_ms = median_ms(15, 20, [&] {
    const surface::CumulativeLinkModel model =
        surface::free_cutpoint_model(surface::Link::probit, terms.rightCols(terms.cols() - 1), grades, 6);
    const surface::PosteriorMode mode = surface::find_mode(model, surface::empirical_start(model));
    log_likelihood = mode.at_mode.log_likelihood + 0 * mode.factor.core_covariance()(0, 0);
  });
  print("clm", link_ms, "log-likelihood " + std::to_string(log_likelihood));

  const Eigen::VectorXd y = Eigen::Map<const Eigen::VectorXi>(grades.data(), terms.rows()).cast<double>();
  double first = 0;
  const Milliseconds lm_ms =
      median_ms(15, 50, [&] { first = numerics::fit_least_squares(terms, y).residual_ss; });
  print("lm", lm_ms, "residual sum of squares " + std::to_string(first));

  const surface::FitOptions options = bench_options();
  print("clmm", median_ms(5, 1, [&] { surface::fit_shop(one, options).glass("glass-1"); }),
        "frost and chipping, all effects, averaged over prior scales");
}

void shop_fits(const std::string& folder, bool large) {
  const surface::FitOptions options = bench_options();
  const std::vector<surface::Observation> shop = made_up_shop(20, 100, 8);
  write_rows(folder + "/shop.csv", shop);
  print("shop", median_ms(3, 1, [&] { surface::fit_shop(shop, options).glass("glass-1"); }),
        "what the glasses share and one glass");
  print("shop, all glasses", median_ms(1, 1, [&] { surface::fit_shop(shop, options).status(); }));
  std::vector<std::pair<int, int>> sizes{{10, 100}, {40, 100}, {10, 400}};
  if (large) sizes.emplace_back(200, 500);
  for (const auto& [glasses, swatches] : sizes) {
    const std::vector<surface::Observation> rows = made_up_shop(glasses, swatches, 9);
    print("fit_shop " + std::to_string(glasses) + " x " + std::to_string(swatches),
          median_ms(1, 1, [&] { surface::fit_shop(rows, options).glass("glass-1"); }),
          "what the glasses share and one glass");
  }
  if (large) {
    const std::vector<surface::Observation> rows = made_up_shop(200, 500, 9);
    print("fit_shop 200 x 500, all glasses",
          median_ms(1, 1, [&] { surface::fit_shop(rows, options).status(); }));
  }
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  std::printf("peak memory\t%.0f\t\tMiB, not ms\n", static_cast<double>(usage.ru_maxrss) / 1024);
}

void choices() {
  const surface::ShopSurface shop = surface::fit_shop(made_up_shop(4, 36, 10), bench_options());
  const surface::GlassSurface& glass = shop.glass("glass-1");
  const shop::Machine toned = bench_machine(50);
  std::vector<surface::PhysicalSetting> all;
  for (const double tone : toned.tone_pct.values()) {
    for (const int dpi : toned.dpi) {
      for (const double speed : toned.speed_pct.values()) {
        for (const double power : toned.power_pct.values()) {
          all.push_back(surface::physical_setting({power, speed, dpi, tone, "stucki", 1}, toned));
        }
      }
    }
  }
  double best = 0;
  const Milliseconds scan_ms = median_ms(3, 1, [&] { best = glass.scan_chance(all).maxCoeff(); });
  print("scan", scan_ms, std::to_string(all.size()) + " settings, highest chance " + std::to_string(best));
  const auto chance = [&](const std::vector<surface::PhysicalSetting>& x) { return glass.scan_chance(x); };
  const auto choose = [&](const shop::Machine& machine) {
    for (const choice::RankedSetting& one :
         choice::distinct_settings(choice::rank_settings(machine, chance), 4, 0.10)) {
      glass.chance(surface::physical_setting(one.setting, machine));
    }
  };
  print("choice from 608,256", median_ms(3, 1, [&] { choose(toned); }),
        "the best and its rivals, with intervals");
  print("choice from 55,296", median_ms(3, 1, [&] { choose(bench_machine(100)); }), "the same");

  const shop::Machine machine = bench_machine(100);
  choice::TargetedOptions targeted;
  targeted.swatches = 24;
  print("plan, usual candidates",
        median_ms(3, 1, [&] { choice::plan_targeted(glass, machine, machine, 0.9, targeted); }));
  targeted.candidate_ratio = 1.0;
  print("plan, every setting",
        median_ms(1, 1, [&] { choice::plan_targeted(glass, machine, machine, 0.9, targeted); }),
        "24 of 55,296");

  numerics::RandomEngine random(3);
  Eigen::MatrixXd points(60000, 3);
  for (Eigen::Index i = 0; i < points.size(); ++i) points.data()[i] = 2 * random.uniform() - 1;
  const Eigen::MatrixXd candidates = design::model_matrix(points, design::Order::second);
  const Eigen::MatrixXd moments = candidates.transpose() * candidates / 60000;
  design::ExchangeOptions exchange;
  exchange.starts = 1;
  print("exchange", median_ms(1, 1, [&] { design::exchange(candidates, moments, 24, exchange); }),
        "24 of 60,000, one start");
}

void burn_file() {
  shop::Shop shop;
  shop.machines = {bench_machine(100)};
  shop.vessels = {{"jug", 88, 88, 300, 0}};
  shop.glasses = {{"glass-1", "soda-lime", "clear", "jug", {}}};
  design::Grid grid;
  grid.id = "0001-glass-1";
  grid.number = 1;
  grid.glass = "glass-1";
  grid.machine = "bench";
  grid.vessel = "jug";
  for (int i = 0; i < 500; ++i) {
    design::Swatch swatch;
    swatch.id = std::string(1, static_cast<char>('A' + i / 25)) + std::to_string(i % 25 + 1);
    swatch.bottle = "glass-1-1";
    swatch.x_mm = -132 + 11.0 * (i % 25);
    swatch.y_mm = -120 + 12.0 * (i / 25);
    swatch.width_mm = swatch.height_mm = 7;
    swatch.setting = {20.0 + 20 * (i % 4), 20.0 + 20 * (i / 4 % 4), 300, 100, "stucki", 1};
    grid.swatches.push_back(swatch);
  }
  std::string bytes;
  const Milliseconds ms = median_ms(5, 1, [&] {
    sheet::Document document;
    document.title = "Burn pages";
    document.pages = sheet::burn_pages(sheet::burn_sheets(shop, grid));
    bytes = sheet::to_pdf(document);
  });
  print("burn.pdf of 500 swatches", ms, std::to_string(bytes.size()) + " bytes");
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    std::cerr << "usage: frostcal_bench FOLDER [large]   writes the data into FOLDER, prints times\n";
    return 2;
  }
  try {
    against_r(argv[1]);
    burn_file();
    choices();
    shop_fits(argv[1], argc > 2 && std::string(argv[2]) == "large");
  } catch (const std::exception& error) {
    std::cerr << "frostcal_bench: " << error.what() << '\n';
    return 2;
  }
  return 0;
}
