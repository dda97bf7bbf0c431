#include "simulator/grading.hpp"

#include <algorithm>
#include <cmath>

#include "simulator/random_stream.hpp"

namespace frostcal::simulator {
namespace {

constexpr double kTwoPi = 6.283185307179586;

template <std::size_t N>
int grade_of(double look, const std::array<double, N>& cuts) {
  return static_cast<int>(
      std::count_if(cuts.begin(), cuts.end(), [look](double cut) { return look >= cut; }));
}

int slipped(int grade, int highest, double slip, RandomStream& random) {
  if (random.uniform() >= slip) return grade;
  return std::clamp(grade + (random.uniform() < 0.5 ? -1 : 1), 0, highest);
}

}  // namespace

Grades grade_swatch(const HiddenGlass& glass, std::uint64_t seed, const Exposure& exposure,
                    const Occasion& occasion) {
  const std::string root = "glass " + std::to_string(glass.seed) + ' ';
  RandomStream bottle(seed, root + "bottle " + occasion.bottle);
  RandomStream day(seed, root + "day " + occasion.grid);
  RandomStream look(seed, root + "look " + occasion.grid + ' ' + occasion.swatch);

  const double bottle_gain = glass.bottle_gain * bottle.normal();
  const double bottle_frost = glass.bottle_frost * bottle.normal();
  const double bottle_chipping = glass.bottle_chipping * bottle.normal();
  const double run_out = glass.run_out * std::sin(occasion.turn_rad + kTwoPi * bottle.uniform());
  Exposure felt = exposure;
  felt.power_w *= std::exp(bottle_gain + glass.day_gain * day.normal() + run_out);

  const Look mean = mean_look(glass, felt);
  const double frost = mean.frost + bottle_frost + glass.frost_noise * look.normal();
  const double chipping = mean.chipping + bottle_chipping + glass.chipping_noise * look.normal();
  Grades grades;
  grades.frost = slipped(grade_of(frost, glass.frost_cuts), 5, glass.slip, look);
  grades.chipping = slipped(grade_of(chipping, glass.chipping_cuts), 3, glass.slip, look);
  return grades;
}

}  // namespace frostcal::simulator
