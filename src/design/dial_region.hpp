// The machine's dials within the user's ranges, in the coded log coordinates that designs are made in.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "design/quadratic_model.hpp"
#include "shop/machine.hpp"
#include "shop/setting.hpp"

namespace frostcal::design {

struct RegionOptions {
  double inner = 1.0;  // share of each log range of power and speed that is used, in its middle
  int dpi_values = 0;  // use at most this many dpi, ends and evenly between in ln dpi; 0 = all
};

/// Values of power and of speed of the lattices that stand for a region.
inline constexpr int kLatticeLevels = 11;

/// Factors are ln delivered power, ln speed, ln dpi and ln tone, each only where the ranges leave it more
/// than one value; coded -1 and 1 are the ends of the range. Quadratics in these are quadratics in ln dose,
/// ln heat and ln pitch too (the map is linear), so an optimal design for the one is optimal for the other.
class DialRegion {
 public:
  /// `allowed` is the machine narrowed to the user's ranges; the dose limit is the machine's.
  DialRegion(const shop::Machine& machine, const shop::Machine& allowed, const RegionOptions& options = {});

  int factors() const { return static_cast<int>(axes_.size()); }
  /// "power", "speed", "dpi", "tone".
  std::vector<std::string> names() const;
  /// Index of dpi among the factors, or -1 when it does not vary.
  int dpi_factor() const;
  /// How many values a factor takes.
  int level_count(int factor) const;
  /// At most `most` of a factor's coded values, evenly spaced as far as the dial allows, ascending.
  std::vector<double> levels(int factor, int most) const;
  /// Squares only of factors with three or more values.
  QuadraticModel model() const;

  /// Coded values of a setting; beyond -1..1 where it lies outside the region.
  Eigen::RowVectorXd code(const shop::Setting& setting) const;
  /// The setting whose dial values lie nearest to the coded ones.
  shop::Setting at(const Eigen::RowVectorXd& coded) const;
  /// At the machine's dials and within its dose limit.
  bool burnable(const shop::Setting& setting) const;

  /// Burnable settings with at most `most` values of power and of speed, evenly spaced in the log as far as
  /// the dials allow, and all values of dpi and tone.
  std::vector<shop::Setting> lattice(int most) const;
  /// The settings that differ from this one in a single factor, and are burnable.
  std::vector<shop::Setting> along_axes(const shop::Setting& setting) const;
  /// Coded values, one setting a row.
  Eigen::MatrixXd code(const std::vector<shop::Setting>& settings) const;

 private:
  enum class Dial { power, speed, dpi, tone };
  struct Axis {
    Dial dial;
    std::vector<double> values;  // what is dialled in, ascending
    std::vector<double> coded;   // the same, coded
    double middle = 0;           // of the log range
    double half = 1;
  };

  void add_axis(Dial dial, std::vector<double> values, double inner);
  double natural_log(Dial dial, double value) const;
  void set(shop::Setting& setting, Dial dial, double value) const;
  double value_of(const shop::Setting& setting, Dial dial) const;

  shop::Machine machine_;
  shop::Setting fixed_;  // the values of dials that don't vary
  std::vector<Axis> axes_;
};

}  // namespace frostcal::design
