#include "surface/chance_interpolation.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <tuple>

namespace frostcal::surface {
namespace {

constexpr int kStencil = 6;

/// Equally spaced nodes with two more beyond either end of [low, high].
struct Axis {
  double first = 0;
  double step = 1;
  int count = 1;

  Axis(double low, double high) {
    if (high - low < 1e-12) {
      first = low;
      return;
    }
    const int steps = std::max(1, static_cast<int>(std::ceil((high - low) / kInterpolationStep)));
    step = (high - low) / steps;
    first = low - 2 * step;
    count = steps + 5;
  }
  double node(int i) const { return first + step * i; }
};

/// The six (or one) nodes round x and their Lagrange weights.
struct Stencil {
  int first = 0;
  int count = 1;
  std::array<double, kStencil> weight{1, 0, 0, 0, 0, 0};

  Stencil(const Axis& axis, double x) {
    if (axis.count == 1) return;
    const double place = (x - axis.first) / axis.step;
    first = std::clamp(static_cast<int>(place), 2, axis.count - 4) - 2;
    count = kStencil;
    for (int i = 0; i < kStencil; ++i) {
      weight[i] = 1;
      for (int j = 0; j < kStencil; ++j) {
        if (j != i) weight[i] *= (place - first - j) / (i - j);
      }
    }
  }
};

/// Nodes over the power and speed of one group.
struct NodeGrid {
  Axis power;
  Axis speed;
  std::vector<PhysicalSetting> nodes;

  NodeGrid(const std::vector<PhysicalSetting>& settings, const std::vector<std::size_t>& members)
      : power(range(settings, members, &PhysicalSetting::power_w)),
        speed(range(settings, members, &PhysicalSetting::speed_mm_s)) {
    PhysicalSetting node = settings[members[0]];
    for (int i = 0; i < power.count; ++i) {
      for (int j = 0; j < speed.count; ++j) {
        node.power_w = std::exp(power.node(i));
        node.speed_mm_s = std::exp(speed.node(j));
        nodes.push_back(node);
      }
    }
  }

  static Axis range(const std::vector<PhysicalSetting>& settings, const std::vector<std::size_t>& members,
                    double PhysicalSetting::*value) {
    double low = settings[members[0]].*value;
    double high = low;
    for (const std::size_t i : members) {
      low = std::min(low, settings[i].*value);
      high = std::max(high, settings[i].*value);
    }
    return Axis(std::log(low), std::log(high));
  }

  Eigen::RowVectorXd at(const PhysicalSetting& setting, const Eigen::MatrixXd& values) const {
    const Stencil a(power, std::log(setting.power_w));
    const Stencil b(speed, std::log(setting.speed_mm_s));
    Eigen::RowVectorXd sum = Eigen::RowVectorXd::Zero(values.cols());
    for (int k = 0; k < a.count; ++k) {
      for (int l = 0; l < b.count; ++l) {
        sum += a.weight[k] * b.weight[l] * values.row((a.first + k) * speed.count + b.first + l);
      }
    }
    return sum;
  }
};

}  // namespace

Eigen::MatrixXd interpolate_over_power_and_speed(
    const std::vector<PhysicalSetting>& settings, int width,
    const std::function<Eigen::MatrixXd(const std::vector<PhysicalSetting>&)>& exact) {
  Eigen::MatrixXd out(static_cast<Eigen::Index>(settings.size()), width);
  std::map<std::tuple<double, double, int>, std::vector<std::size_t>> groups;
  for (std::size_t i = 0; i < settings.size(); ++i) {
    groups[{settings[i].pitch_mm, settings[i].tone, settings[i].passes}].push_back(i);
  }
  for (const auto& [key, members] : groups) {
    const NodeGrid grid(settings, members);
    if (members.size() < kInterpolationGain * grid.nodes.size()) {
      std::vector<PhysicalSetting> own;
      for (const std::size_t i : members) own.push_back(settings[i]);
      const Eigen::MatrixXd values = exact(own);
      for (std::size_t k = 0; k < members.size(); ++k) {
        out.row(static_cast<Eigen::Index>(members[k])) = values.row(static_cast<Eigen::Index>(k));
      }
      continue;
    }
    const Eigen::MatrixXd values = exact(grid.nodes);
    for (const std::size_t i : members) out.row(static_cast<Eigen::Index>(i)) = grid.at(settings[i], values);
  }
  return out;
}

}  // namespace frostcal::surface
