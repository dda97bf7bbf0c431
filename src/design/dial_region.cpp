#include "design/dial_region.hpp"

#include <algorithm>
#include <cmath>

#include "errors/bug.hpp"

namespace frostcal::design {

namespace {

constexpr double kEdge = 1e-9;  // of the coded range, for rounding

std::size_t nearest_index(const std::vector<double>& coded, double wished) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < coded.size(); ++i) {
    if (std::abs(coded[i] - wished) < std::abs(coded[best] - wished) - kEdge) best = i;
  }
  return best;
}

// Indices of at most `most` values, evenly spaced in the coded scale as far as there are values.
std::vector<std::size_t> spaced(const std::vector<double>& coded, int most) {
  std::vector<std::size_t> picked;
  for (int i = 0; i < most; ++i) {
    const double wished = most == 1 ? 0.0 : -1.0 + 2.0 * i / (most - 1);
    const std::size_t index = nearest_index(coded, wished);
    if (picked.empty() || picked.back() != index) picked.push_back(index);
  }
  return picked;
}

}  // namespace

DialRegion::DialRegion(const shop::Machine& machine, const shop::Machine& allowed,
                       const RegionOptions& options)
    : machine_(machine) {
  FROSTCAL_ASSERT(!allowed.dpi.empty() && !allowed.screens.empty() && options.inner > 0,
                  "a region needs a dpi and a screen");
  fixed_.screen = allowed.screens.front();
  fixed_.tone_pct = allowed.tone_pct.max;
  add_axis(Dial::power, allowed.power_pct.values(), options.inner);
  add_axis(Dial::speed, allowed.speed_pct.values(), options.inner);
  add_axis(Dial::dpi, std::vector<double>(allowed.dpi.begin(), allowed.dpi.end()), 1.0);
  if (options.dpi_values > 0 && dpi_factor() >= 0) {
    const Axis all = axes_.back();
    axes_.pop_back();
    std::vector<double> kept;
    for (const std::size_t i : spaced(all.coded, options.dpi_values)) kept.push_back(all.values[i]);
    add_axis(Dial::dpi, kept, 1.0);
  }
  add_axis(Dial::tone, allowed.tone_pct.values(), 1.0);
}

void DialRegion::add_axis(Dial dial, std::vector<double> values, double inner) {
  FROSTCAL_ASSERT(!values.empty(), "a dial has at least one value");
  Axis axis{dial, {}, {}, 0, 1};
  const double low = natural_log(dial, values.front());
  const double high = natural_log(dial, values.back());
  axis.middle = (low + high) / 2;
  axis.half = (high - low) / 2;
  if (axis.half <= 0) {
    set(fixed_, dial, values.back());
    return;
  }
  axis.half *= inner;
  for (const double value : values) {
    const double coded = (natural_log(dial, value) - axis.middle) / axis.half;
    if (std::abs(coded) > 1 + kEdge) continue;
    axis.values.push_back(value);
    axis.coded.push_back(coded);
  }
  if (axis.values.size() < 2) {
    // Too coarse a dial for the inner range: its ends stand for it.
    axis.half /= inner;
    axis.values = {values.front(), values.back()};
    axis.coded = {-1, 1};
  }
  axes_.push_back(std::move(axis));
}

double DialRegion::natural_log(Dial dial, double value) const {
  return std::log(dial == Dial::power ? machine_.delivered_power_w(value) : value);
}

void DialRegion::set(shop::Setting& setting, Dial dial, double value) const {
  switch (dial) {
    case Dial::power:
      setting.power_pct = value;
      break;
    case Dial::speed:
      setting.speed_pct = value;
      break;
    case Dial::dpi:
      setting.dpi = static_cast<int>(std::lround(value));
      break;
    case Dial::tone:
      setting.tone_pct = value;
      break;
  }
}

double DialRegion::value_of(const shop::Setting& setting, Dial dial) const {
  switch (dial) {
    case Dial::power:
      return setting.power_pct;
    case Dial::speed:
      return setting.speed_pct;
    case Dial::dpi:
      return setting.dpi;
    case Dial::tone:
      return setting.tone_pct;
  }
  return 0;
}

std::vector<std::string> DialRegion::names() const {
  const std::vector<std::string> all{"power", "speed", "dpi", "tone"};
  std::vector<std::string> names;
  for (const Axis& axis : axes_) names.push_back(all[static_cast<std::size_t>(axis.dial)]);
  return names;
}

int DialRegion::dpi_factor() const {
  for (std::size_t i = 0; i < axes_.size(); ++i) {
    if (axes_[i].dial == Dial::dpi) return static_cast<int>(i);
  }
  return -1;
}

int DialRegion::level_count(int factor) const {
  return static_cast<int>(axes_.at(static_cast<std::size_t>(factor)).values.size());
}

std::vector<double> DialRegion::levels(int factor, int most) const {
  const Axis& axis = axes_.at(static_cast<std::size_t>(factor));
  std::vector<double> levels;
  for (const std::size_t i : spaced(axis.coded, most)) levels.push_back(axis.coded[i]);
  return levels;
}

QuadraticModel DialRegion::model() const {
  QuadraticModel model;
  for (const Axis& axis : axes_) model.squared.push_back(axis.values.size() > 2);
  return model;
}

Eigen::RowVectorXd DialRegion::code(const shop::Setting& setting) const {
  Eigen::RowVectorXd coded(factors());
  for (int j = 0; j < factors(); ++j) {
    const Axis& axis = axes_[static_cast<std::size_t>(j)];
    coded(j) = (natural_log(axis.dial, value_of(setting, axis.dial)) - axis.middle) / axis.half;
  }
  return coded;
}

Eigen::MatrixXd DialRegion::code(const std::vector<shop::Setting>& settings) const {
  Eigen::MatrixXd coded(static_cast<Eigen::Index>(settings.size()), factors());
  for (std::size_t i = 0; i < settings.size(); ++i)
    coded.row(static_cast<Eigen::Index>(i)) = code(settings[i]);
  return coded;
}

shop::Setting DialRegion::at(const Eigen::RowVectorXd& coded) const {
  FROSTCAL_ASSERT(coded.size() == factors(), "a point has one value per factor");
  shop::Setting setting = fixed_;
  for (int j = 0; j < factors(); ++j) {
    const Axis& axis = axes_[static_cast<std::size_t>(j)];
    set(setting, axis.dial, axis.values[nearest_index(axis.coded, coded(j))]);
  }
  return setting;
}

bool DialRegion::burnable(const shop::Setting& setting) const {
  return shop::accepts(machine_, setting);
}

std::vector<shop::Setting> DialRegion::lattice(int most) const {
  std::vector<shop::Setting> settings{fixed_};
  for (const Axis& axis : axes_) {
    const bool fine = axis.dial == Dial::power || axis.dial == Dial::speed;
    std::vector<std::size_t> picked;
    if (fine) {
      picked = spaced(axis.coded, most);
    } else {
      for (std::size_t i = 0; i < axis.values.size(); ++i) picked.push_back(i);
    }
    std::vector<shop::Setting> longer;
    for (const shop::Setting& setting : settings) {
      for (const std::size_t i : picked) {
        longer.push_back(setting);
        set(longer.back(), axis.dial, axis.values[i]);
      }
    }
    settings = std::move(longer);
  }
  settings.erase(std::remove_if(settings.begin(), settings.end(),
                                [&](const shop::Setting& setting) { return !burnable(setting); }),
                 settings.end());
  return settings;
}

std::vector<shop::Setting> DialRegion::along_axes(const shop::Setting& setting) const {
  std::vector<shop::Setting> settings;
  for (const Axis& axis : axes_) {
    for (const double value : axis.values) {
      shop::Setting moved = setting;
      set(moved, axis.dial, value);
      if (!shop::same_setting(moved, setting) && burnable(moved)) settings.push_back(moved);
    }
  }
  return settings;
}

}  // namespace frostcal::design
