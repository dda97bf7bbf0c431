// Everything that shop.toml says, as plain values.
#pragma once

#include <array>
#include <filesystem>
#include <string>
#include <vector>

#include "errors/user_error.hpp"
#include "shop/machine.hpp"

namespace frostcal::shop {

/// A bottle shape. The panel is the straight (or evenly tapering) part that artwork goes on.
struct Vessel {
  std::string name;
  double diameter_at_neck_mm = 0;  // equal to diameter_at_base_mm when the wall is straight
  double diameter_at_base_mm = 0;
  double panel_mm = 0;  // length of the panel along the axis
  int seams = 0;        // mould seams, evenly spaced round the bottle; the first at angle 0

  /// Diameter at x_mm along the axis from the panel's centre, positive towards the base.
  double diameter_mm(double x_mm) const;
  /// Millimetres of the page round the bottle for one of glass at x_mm: the rotary turns by angle, and the
  /// diameter typed at the machine is the one at the panel's centre.
  double page_stretch(double x_mm) const { return diameter_mm(0) / diameter_mm(x_mm); }
  bool tapers() const { return diameter_at_neck_mm != diameter_at_base_mm; }
};

struct Glass {
  std::string name;
  std::string family;  // soda-lime, borosilicate, lead-crystal, other
  std::string colour;
  std::string vessel;
  std::vector<std::string> broken;  // bottles of earlier grids that are no longer on the shelf

  bool is_broken(const std::string& bottle) const;
};

inline constexpr int kFrostGrades = 6;     // 0..5
inline constexpr int kChippingGrades = 4;  // 0..3

/// What is good enough to sell: frost >= frost, chipping <= chipping, and how probable that must be.
struct Acceptance {
  int frost = 4;
  int chipping = 0;
  double chance = 0.90;
};

/// The words for the grades; a shop may reword them, not reorder them.
struct GradeScale {
  std::array<std::string, kFrostGrades> frost{
      "no mark",    "faint or broken",          "patchy or line pattern shows", "readable but uneven",
      "even frost", "dense, smooth, even frost"};
  std::array<std::string, kChippingGrades> chipping{
      "none", "a few specks under a loupe", "flakes visible at arm's length", "flakes lift or cracks run"};
};

enum class Paper { a4, letter };
enum class LengthUnit { mm, inch };
/// "88.0 mm" or "3.46 in", for the terminal.
std::string length_text(double mm, LengthUnit unit);

struct Shop {
  std::filesystem::path folder;  // as given by the user
  std::string name;
  LengthUnit units = LengthUnit::mm;
  Paper paper = Paper::a4;  // of everything that is printed but the burn pages, which are as large as the art
  Acceptance acceptance;
  GradeScale scale;
  std::vector<Machine> machines;  // never empty
  std::vector<Vessel> vessels;
  std::vector<Glass> glasses;
  std::vector<errors::Fault> doubts;  // values that are taken, but look like slips

  /// The named thing, or UserError that lists the known names and the nearest one.
  const Machine& machine(const std::string& wanted) const;
  const Vessel& vessel(const std::string& wanted) const;
  const Glass& glass(const std::string& wanted) const;
  /// Null when the shop has none of that name, as when a file speaks of a machine that is gone.
  const Machine* find_machine(const std::string& wanted) const;
  const Vessel* find_vessel(const std::string& wanted) const;
  const Glass* find_glass(const std::string& wanted) const;
  /// The named machine, or the first one when the name is empty.
  const Machine& machine_or_default(const std::string& wanted) const;
};

}  // namespace frostcal::shop
