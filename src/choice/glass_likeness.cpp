#include "choice/glass_likeness.hpp"

#include "surface/physical_setting.hpp"

namespace frostcal::choice {
namespace {

struct Compared {
  const GlassChoice* choice = nullptr;
  Eigen::MatrixXd chance;  // settings of all compared x draws, on this glass
};

/// Mean loss of glass i at the setting of glass j; negative when it isn't sure enough to be small.
double sure_loss(const std::vector<Compared>& all, std::size_t i, std::size_t j) {
  const Eigen::Index own = static_cast<Eigen::Index>(i);
  const Eigen::Index other = static_cast<Eigen::Index>(j);
  const Eigen::ArrayXd loss = (all[i].chance.row(own) - all[i].chance.row(other)).transpose().array();
  const double share = (loss < kAlikeLoss).cast<double>().mean();
  return share >= kAlikeProbability ? std::max(0.0, loss.mean()) : -1;
}

}  // namespace

std::vector<GlassLikeness> find_alike(const shop::Shop& shop, const surface::ShopSurface& surfaces,
                                      const std::vector<GlassChoice>& choices) {
  std::vector<GlassLikeness> alike;
  for (const shop::Machine& machine : shop.machines) {
    std::vector<Compared> all;
    std::vector<surface::PhysicalSetting> settings;
    for (const GlassChoice& choice : choices) {
      if (choice.machine != machine.name || !choice.best || choice.swatches < kAlikeSwatches) continue;
      all.push_back({&choice, {}});
      settings.push_back(surface::physical_setting(choice.best->setting, machine));
    }
    if (all.size() < 2) continue;
    for (Compared& one : all) {
      one.chance =
          surfaces.glass(surface::surface_name(one.choice->glass, machine.name)).drawn_chance(settings);
    }
    for (std::size_t i = 0; i < all.size(); ++i) {
      for (std::size_t j = i + 1; j < all.size(); ++j) {
        const double first = sure_loss(all, i, j);
        const double second = sure_loss(all, j, i);
        if (first < 0 || second < 0) continue;
        alike.push_back({machine.name, all[i].choice->glass, all[j].choice->glass, first, second});
      }
    }
  }
  return alike;
}

}  // namespace frostcal::choice
