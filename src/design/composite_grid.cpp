#include "design/composite_grid.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <string>

#include "design/dial_region.hpp"
#include "errors/user_error.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::design {

namespace {

constexpr std::size_t kLeastLevels = 3;  // a square can't be told from fewer

void require_factors(const DialRegion& region, int least, const std::string& design) {
  if (region.factors() >= least && region.factors() <= 4) return;
  throw errors::UserError(errors::Fault{
      {"", 0, 0, "--design"},
      design + " with " + textfile::counted(region.factors(), "dial that varies", "dials that vary"),
      std::to_string(least) + " to 4 of power, speed, dpi and tone",
      "widen --power, --speed, --dpi or --tone"});
}

std::vector<shop::Setting> on_dials(const Eigen::MatrixXd& coded, const DialRegion& region,
                                    const std::string& design) {
  const double reach = coded.cwiseAbs().maxCoeff();
  for (int factor = 0; factor < region.factors(); ++factor) {
    std::set<long> wanted;
    for (Eigen::Index run = 0; run < coded.rows(); ++run)
      wanted.insert(std::lround(coded(run, factor) * 1e6));
    std::set<double> taken;
    Eigen::RowVectorXd point = Eigen::RowVectorXd::Zero(region.factors());
    for (const long level : wanted) {
      point(factor) = static_cast<double>(level) / 1e6 / reach;
      taken.insert(region.code(region.at(point))(factor));
    }
    if (taken.size() < kLeastLevels) {
      const std::string name = region.names()[static_cast<std::size_t>(factor)];
      throw errors::UserError(errors::Fault{
          {"", 0, 0, "--" + name},
          textfile::counted(static_cast<int>(taken.size()), "usable value", "usable values") + " of " + name,
          std::to_string(kLeastLevels) + " or more for " + design,
          "widen the range, or fix " + name + " to one value"});
    }
  }
  std::vector<shop::Setting> settings;
  for (Eigen::Index run = 0; run < coded.rows(); ++run) {
    const shop::Setting setting = region.at(coded.row(run) / reach);
    if (region.burnable(setting)) settings.push_back(setting);
  }
  return settings;
}

}  // namespace

std::vector<PlannedSwatch> composite_swatches(const shop::Machine& machine, const shop::Machine& allowed,
                                              Composite kind) {
  std::vector<shop::Machine> parts{allowed};
  if (allowed.dpi.size() == 2) {
    parts.push_back(allowed);
    for (std::size_t i = 0; i < 2; ++i) parts[i].dpi = {allowed.dpi[i]};
  }
  std::vector<shop::Setting> settings;
  for (const shop::Machine& part : parts) {
    const DialRegion region(machine, part);
    require_factors(region, 2, "central-composite");
    const int factors = region.factors();
    const auto here = on_dials(central_composite(factors, kind, published_centre_points(factors)), region,
                               "central-composite");
    settings.insert(settings.end(), here.begin(), here.end());
  }
  return with_repeats_marked(settings);
}

std::vector<PlannedSwatch> box_behnken_swatches(const shop::Machine& machine, const shop::Machine& allowed) {
  const DialRegion region(machine, allowed);
  require_factors(region, 3, "box-behnken");
  return with_repeats_marked(on_dials(box_behnken(region.factors()), region, "box-behnken"));
}

}  // namespace frostcal::design
