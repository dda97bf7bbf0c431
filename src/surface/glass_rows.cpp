#include "surface/glass_rows.hpp"

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <tuple>

#include "errors/bug.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::surface {
namespace {

using CellKey =
    std::tuple<double, double, double, double, int, std::string, std::string, std::string, std::string>;

CellKey key_of(const Observation& o) {
  return {o.setting.power_w,
          o.setting.speed_mm_s,
          o.setting.pitch_mm,
          o.setting.tone,
          o.setting.passes,
          o.bottle,
          o.burn,
          o.grader,
          o.day};
}

std::string day_name(const Observation& o) {
  return machine_of(o.glass) + ' ' + o.day;
}

int index_of(const std::vector<LocalEffect>& effects, EffectKind kind, const std::string& name) {
  for (std::size_t i = 0; i < effects.size(); ++i) {
    if (effects[i].kind == kind && effects[i].name == name) return static_cast<int>(i);
  }
  return -1;
}

GradeRange grade_of(const Observation& o, Response response) {
  return response == Response::frost ? o.frost : o.chipping;
}

bool counts(const Observation& o) {
  return o.weight > 0 && (o.frost != kNotGraded || o.chipping != kNotGraded);
}

ResponseRows response_rows(const std::vector<const Observation*>& swatches, Response response,
                           const GlassRows& glass, const CoordinateCentre& centre) {
  std::map<CellKey, std::map<GradeRange, double>> cells;
  std::map<CellKey, const Observation*> example;
  for (const Observation* o : swatches) {
    const GradeRange grade = grade_of(*o, response);
    if (grade == kNotGraded) continue;
    FROSTCAL_ASSERT(grade.lowest >= 0 && grade.lowest <= grade.highest, "grade out of range");
    FROSTCAL_ASSERT(grade.highest < categories(response), "grade out of range");
    if (grade == GradeRange(0, categories(response) - 1)) continue;  // says nothing
    cells[key_of(*o)][grade] += o->weight;
    example[key_of(*o)] = o;
  }
  ResponseRows rows;
  rows.u.resize(4, cells.size());
  std::vector<double> weights;
  for (const auto& [key, grades] : cells) {
    const Observation& o = *example.at(key);
    const int cell = static_cast<int>(rows.occasions.size());
    rows.u.col(cell) = coordinates(o.setting, centre);
    rows.occasions.push_back(occasion_of(glass, o));
    for (const auto& [grade, weight] : grades) {
      rows.cell.push_back(cell);
      rows.lowest.push_back(grade.lowest);
      rows.highest.push_back(grade.highest);
      weights.push_back(weight);
    }
  }
  rows.weight = Eigen::Map<const Eigen::VectorXd>(weights.data(), static_cast<Eigen::Index>(weights.size()));
  return rows;
}

/// Days of this glass with an effect of their own, and whether a trend is looked for.
void add_dated_effects(const std::vector<const Observation*>& swatches, std::vector<LocalEffect>& effects) {
  std::map<std::string, int> days;
  std::optional<int> first, last;
  for (const Observation* o : swatches) {
    const std::optional<int> day = textfile::day_number(o->day);
    if (!day || o->piece) continue;
    ++days[day_name(*o)];
    first = std::min(first.value_or(*day), *day);
    last = std::max(last.value_or(*day), *day);
  }
  std::vector<std::string> own;
  for (const auto& [name, count] : days) {
    if (count >= kFewestOfADay) own.push_back(name);
  }
  if (own.size() > 1) {
    for (const std::string& name : own) effects.push_back({EffectKind::day, name});
  }
  if (first && *last - *first >= kTrendSpan) {
    effects.push_back({EffectKind::trend, machine_of(swatches[0]->glass)});
  }
}

/// Change of the first surface per unit of ln power, by a central difference.
Eigen::VectorXd power_slope(const GlassRows& glass, Response response, const SurfaceBasis& basis,
                            const Eigen::Matrix4Xd& u) {
  constexpr double kStep = 0.05;
  const Eigen::VectorXd& weights = glass.slope_weights[index_of(response)];
  if (weights.size() == 0) return Eigen::VectorXd::Zero(u.cols());
  const Eigen::Vector4d step(kStep / kDoseScale, kStep / kHeatScale, 0, 0);
  const Eigen::Matrix4Xd above = u.colwise() + step;
  const Eigen::Matrix4Xd below = u.colwise() - step;
  return (basis.evaluate(above, glass.slope_length) - basis.evaluate(below, glass.slope_length)) * weights /
         (2 * kStep);
}

}  // namespace

std::string glass_of(const std::string& surface) {
  return surface.substr(0, surface.find('@'));
}

std::string machine_of(const std::string& surface) {
  const std::size_t at = surface.find('@');
  return at == std::string::npos ? "" : surface.substr(at + 1);
}

Occasion occasion_of(const GlassRows& glass, const Observation& o) {
  Occasion occasion;
  occasion.bottle = index_of(glass.effects, EffectKind::bottle, o.bottle);
  occasion.burn = index_of(glass.effects, EffectKind::burn, o.burn);
  occasion.grader = index_of(glass.effects, EffectKind::grader, o.grader);
  const std::optional<int> day = textfile::day_number(o.day);
  if (day) {
    occasion.day = index_of(glass.effects, EffectKind::day, day_name(o));
    occasion.trend = index_of(glass.effects, EffectKind::trend, machine_of(o.glass));
    occasion.days_ago = std::max(0, glass.latest_day - *day);
    occasion.piece = o.piece;
  }
  return occasion;
}

Eigen::Matrix4Xd burned_places(const GlassRows& glass, const ResponseRows& rows) {
  Eigen::Matrix4Xd u = rows.u;
  if (glass.assumed_trend == 0) return u;
  for (Eigen::Index i = 0; i < u.cols(); ++i) {
    const Occasion& o = rows.occasions[static_cast<std::size_t>(i)];
    if (o.trend < 0) continue;
    const double ln_power = -glass.assumed_trend * o.days_ago / kDaysInYear;
    u(0, i) += ln_power / kDoseScale;
    u(1, i) += ln_power / kHeatScale;
  }
  return u;
}

Eigen::MatrixXd local_design(const GlassRows& glass, Response response, const SurfaceBasis& basis,
                             const Eigen::Matrix4Xd& u, const std::vector<Occasion>& occasions) {
  Eigen::MatrixXd m = Eigen::MatrixXd::Zero(u.cols(), static_cast<Eigen::Index>(glass.effects.size()));
  const Eigen::VectorXd slope = power_slope(glass, response, basis, u);
  for (Eigen::Index i = 0; i < m.rows(); ++i) {
    const Occasion& o = occasions[static_cast<std::size_t>(i)];
    for (const int e : {o.bottle, o.burn, o.grader}) {
      if (e >= 0) m(i, e) = 1;
    }
    if (o.piece) continue;
    if (o.day >= 0) m(i, o.day) = slope(i);
    if (o.trend >= 0) m(i, o.trend) = -(o.days_ago / kDaysInYear) * slope(i);
  }
  return m;
}

std::vector<GlassRows> gather_rows(const std::vector<Observation>& observations,
                                   const CoordinateCentre& centre) {
  std::map<std::string, std::vector<const Observation*>> by_glass;
  std::map<std::string, int> latest;
  for (const Observation& o : observations) {
    if (!counts(o)) continue;
    by_glass[o.glass].push_back(&o);
    int& day = latest[machine_of(o.glass)];
    if (!o.piece) day = std::max(day, textfile::day_number(o.day).value_or(0));
  }
  std::vector<GlassRows> glasses;
  for (const auto& [glass, swatches] : by_glass) {
    GlassRows rows;
    rows.glass = glass;
    rows.latest_day = latest[machine_of(glass)];
    std::set<std::string> bottles, burns, graders;
    for (const Observation* o : swatches) {
      bottles.insert(o->bottle);
      burns.insert(o->burn);
      graders.insert(o->grader);
      rows.weight += o->weight;
    }
    for (const std::string& name : bottles) rows.effects.push_back({EffectKind::bottle, name});
    for (const std::string& name : burns) rows.effects.push_back({EffectKind::burn, name});
    for (const std::string& name : graders) rows.effects.push_back({EffectKind::grader, name});
    add_dated_effects(swatches, rows.effects);
    rows.frost = response_rows(swatches, Response::frost, rows, centre);
    rows.chipping = response_rows(swatches, Response::chipping, rows, centre);
    glasses.push_back(std::move(rows));
  }
  return glasses;
}

}  // namespace frostcal::surface
