// From what is dialled in to what the glass feels.
#pragma once

#include <string>

#include "shop/setting.hpp"
#include "shop/shop.hpp"
#include "surface/observation.hpp"
#include "surface/shop_surface.hpp"

namespace frostcal::surface {

/// The setting in physical units at a place x_mm along the vessel's axis. The head scans along the axis, so
/// the scan speed is the machine's; lines follow one another round the bottle, so on a taper the pitch grows
/// with the local diameter over the diameter at the panel's centre, which is the one the driver is told.
PhysicalSetting physical_setting(const shop::Setting& setting, const shop::Machine& machine,
                                 const shop::Vessel& vessel, double x_mm);
/// The same on a straight wall.
PhysicalSetting physical_setting(const shop::Setting& setting, const shop::Machine& machine);

/// Glass and machine together name one surface: "amber-jug@bench". Machines differ in lens and true power, so
/// the same glass on another machine is a group of its own, tied to this one by partial pooling.
std::string surface_name(const std::string& glass, const std::string& machine);

/// The geometric middle and the reach of the ranges of the machine with most observations (of several, or
/// without any, the first in shop.toml): one centre for the whole shop.
CoordinateCentre shop_centre(const shop::Shop& shop, const std::vector<Observation>& observations = {});

/// How a shop is fitted: its bar and its centre, everything else as FitOptions has it.
FitOptions shop_fit_options(const shop::Shop& shop, const std::vector<Observation>& observations = {});

/// The fit of a shop's observations with the options of that shop.
ShopSurface fit_shop(const shop::Shop& shop, const std::vector<Observation>& observations);

}  // namespace frostcal::surface
