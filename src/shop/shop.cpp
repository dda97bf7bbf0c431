#include "shop/shop.hpp"

#include <algorithm>

#include "errors/user_error.hpp"
#include "shop/setting.hpp"
#include "shop/shop_file.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::shop {

namespace {

template <typename Thing>
const Thing& find_named(const std::vector<Thing>& things, const std::string& wanted, const std::string& kind,
                        const std::filesystem::path& folder) {
  std::vector<std::string> names;
  for (const Thing& thing : things) {
    if (thing.name == wanted) return thing;
    names.push_back(thing.name);
  }
  const std::string near = errors::nearest(wanted, names);
  throw errors::UserError(errors::Fault{
      {shop_file(folder).string(), 0, 0, kind},
      "no " + kind + " named " + errors::quoted(wanted),
      names.empty() ? "a [[" + kind + "]] section" : "one of " + textfile::joined(names),
      near.empty() ? "add a [[" + kind + "]] section or use a known name" : "did you mean " + near + "?"});
}

template <typename Thing>
const Thing* find_if_named(const std::vector<Thing>& things, const std::string& wanted) {
  const auto found =
      std::find_if(things.begin(), things.end(), [&](const Thing& thing) { return thing.name == wanted; });
  return found == things.end() ? nullptr : &*found;
}

}  // namespace

double Vessel::diameter_mm(double x_mm) const {
  const double part = panel_mm > 0 ? std::clamp(x_mm / panel_mm + 0.5, 0.0, 1.0) : 0.5;
  return diameter_at_neck_mm + part * (diameter_at_base_mm - diameter_at_neck_mm);
}

bool Glass::is_broken(const std::string& bottle) const {
  return std::find(broken.begin(), broken.end(), bottle) != broken.end();
}

const Machine& Shop::machine(const std::string& wanted) const {
  return find_named(machines, wanted, "machine", folder);
}
const Vessel& Shop::vessel(const std::string& wanted) const {
  return find_named(vessels, wanted, "vessel", folder);
}
const Glass& Shop::glass(const std::string& wanted) const {
  return find_named(glasses, wanted, "glass", folder);
}

const Machine* Shop::find_machine(const std::string& wanted) const {
  return find_if_named(machines, wanted);
}
const Vessel* Shop::find_vessel(const std::string& wanted) const {
  return find_if_named(vessels, wanted);
}
const Glass* Shop::find_glass(const std::string& wanted) const {
  return find_if_named(glasses, wanted);
}

const Machine& Shop::machine_or_default(const std::string& wanted) const {
  return wanted.empty() ? machines.front() : machine(wanted);
}

std::string length_text(double mm, LengthUnit unit) {
  return unit == LengthUnit::inch ? textfile::format_fixed(mm / kMmPerInch, 2) + " in"
                                  : textfile::format_fixed(mm, 1) + " mm";
}

}  // namespace frostcal::shop
