#include "shop/shop_file.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "errors/ascii.hpp"
#include "errors/user_error.hpp"
#include "shop/setting.hpp"
#include "textfile/free_text.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "textfile/read_file.hpp"
#include "textfile/toml_table.hpp"
#include "textfile/toml_text.hpp"

namespace frostcal::shop {

using errors::FaultList;
using textfile::TomlTable;

namespace {

/// Lengths in mm as they mostly are, with the units that are typed by mistake.
TomlTable::Usual usual_mm(double min, double max) {
  return {min, max, {{10, "in cm"}, {kMmPerInch, "in inches"}, {0.001, "in micrometres"}}};
}

/// Screens are names of the driver's, so an unknown one is no fault.
void doubt_screens(TomlTable& table, const Machine& machine) {
  for (const std::string& screen : machine.screens) {
    const std::vector<std::string>& known = drawn_screens();
    if (screen == "none" || std::find(known.begin(), known.end(), screen) != known.end()) continue;
    const std::string near = errors::nearest(screen, known);
    table.doubt("screens", errors::quoted(screen), "one that can be drawn: " + textfile::joined(known),
                near.empty() ? "grey tones of several recipes in one burn can't be drawn with it"
                             : "did you mean \"" + near + "\"?");
  }
}

// Names become folder names and table cells: letters, digits, dashes, underscores and dots inside.
bool is_plain_name(const std::string& name) {
  if (name.empty() || name.size() > 40 || name.front() == '.' || name.front() == '-') return false;
  if (name.find("..") != std::string::npos) return false;
  return std::all_of(name.begin(), name.end(), [](char c) {
    return errors::is_letter_or_digit(c) || c == '-' || c == '_' || c == '.';
  });
}

std::string read_name(TomlTable& table, std::set<std::string>& taken) {
  const char* expected =
      "a name of letters a to z, digits, - and _, no blanks, at most 40 (it becomes a folder name)";
  std::string name = table.text("name", expected);
  if (name.empty()) return name;
  if (!is_plain_name(name)) {
    table.fault("name", errors::quoted(name), expected, "write for example \"amber-jug\"");
  } else if (!taken.insert(name).second) {
    table.fault("name", errors::quoted(name) + " a second time", "a name used once", "rename one of the two");
  }
  return name;
}

SteppedRange read_range(TomlTable& parent, const std::string& key, double lowest, double highest,
                        const std::optional<SteppedRange>& fallback) {
  const std::string expected = "{ min = ..., max = ..., step = ... } in percent";
  if (!parent.has(key) && fallback) {
    parent.table(key, false, expected);
    return *fallback;
  }
  std::optional<TomlTable> table = parent.table(key, true, expected);
  if (!table) return fallback.value_or(SteppedRange{1, 100, 1});
  const TomlTable::Bounds percent{lowest, highest, "a percentage above 0, up to 100"};
  SteppedRange range;
  const std::size_t before = table->fault_count();
  range.min = table->number("min", percent);
  range.max = table->number("max", percent);
  range.step = table->number("step", {0.1, 100, "a step in percent from 0.1 to 100"}, 1.0);
  table->finish();
  if (range.max < range.min) {
    if (table->fault_count() == before)
      table->fault("max", "a max below min", "max at or above min", "swap the two");
    range.max = range.min;
  }
  return range;
}

Rotary read_rotary(TomlTable& machine) {
  Rotary rotary;
  std::optional<TomlTable> table =
      machine.table("rotary", false, "{ kind = \"roller\", neck = \"left\", max_length_mm = 300 }");
  if (!table) return rotary;
  rotary.kind = table->text("kind", "\"roller\" or \"chuck\"", {"roller", "chuck"}, "roller") == "chuck"
                    ? RotaryKind::chuck
                    : RotaryKind::roller;
  rotary.neck = table->text("neck", "\"left\" or \"right\"", {"left", "right"}, "left") == "right"
                    ? Side::right
                    : Side::left;
  rotary.max_length_mm = table->number(
      "max_length_mm", {20, 2000, "a length in mm from 20 to 2000", usual_mm(100, 1500)}, 300.0);
  table->finish();
  return rotary;
}

std::vector<int> read_dpi(TomlTable& table) {
  std::vector<int> dpi;
  for (const double value :
       table.numbers("dpi", {20, 5000, "whole dots per inch from 20 to 5000",
                             TomlTable::Usual{100, 2540, {{kMmPerInch, "per mm"}, {2.54, "per cm"}}}})) {
    if (value != std::floor(value)) {
      table.fault("dpi", "a fraction", "whole dots per inch", "round it");
      continue;
    }
    dpi.push_back(static_cast<int>(value));
  }
  std::sort(dpi.begin(), dpi.end());
  if (std::adjacent_find(dpi.begin(), dpi.end()) != dpi.end()) {
    table.fault("dpi", "the same value twice", "each value once", "remove the repeat");
    dpi.erase(std::unique(dpi.begin(), dpi.end()), dpi.end());
  }
  if (dpi.empty()) dpi.push_back(300);
  return dpi;
}

void refuse_repeats(TomlTable& table, const std::string& key, const std::vector<std::string>& values) {
  std::set<std::string> seen;
  for (const std::string& value : values)
    if (!seen.insert(errors::to_lower(value)).second)
      table.fault(key, errors::quoted(value) + " twice", "each value once", "remove the repeat");
}

bool is_fill_colour(const std::string& text) {
  return text.size() == 7 && text[0] == '#' &&
         text.find_first_not_of("0123456789abcdefABCDEF", 1) == std::string::npos;
}

void read_curve(TomlTable& table, Machine& machine) {
  machine.measured_power_w = table.pairs("measured_power_w", "a list of [percent, W] pairs");
  for (std::size_t i = 0; i < machine.measured_power_w.size(); ++i) {
    const auto& [percent, watts] = machine.measured_power_w[i];
    const bool rising = i == 0 || (percent > machine.measured_power_w[i - 1].first &&
                                   watts > machine.measured_power_w[i - 1].second);
    if (percent <= 0 || percent > 100 || watts <= 0 || !rising) {
      table.fault("measured_power_w", "a reading that does not rise",
                  "percent and W both rising, percent up to 100",
                  "order the readings, and remove those where power no longer rises");
      machine.measured_power_w.clear();
      return;
    }
  }
  constexpr double kTwice = 2;  // common practice, no source: no tube gives so many times its rating
  if (machine.delivered_power_w(100) > kTwice * machine.rated_power_w) {
    table.doubt("measured_power_w", textfile::format_number(machine.delivered_power_w(100)) + " W at 100 %",
                "about rated_power_w, " + textfile::format_number(machine.rated_power_w),
                "the readings are what counts; was one of them mistyped?");
  }
}

// In characters: longer ones have no place on the sheets.
constexpr std::size_t kLongestShopName = 60;
constexpr std::size_t kLongestWord = 40;  // of a screen or a colour
constexpr std::size_t kLongestGradeWords = 80;

void check_text(TomlTable& table, const std::string& key, const std::string& text, std::size_t longest) {
  if (const auto fault = textfile::free_text_fault(text, longest)) {
    table.fault(key, fault->found, fault->expected, fault->remedy);
  }
}

Machine read_machine(TomlTable table, std::set<std::string>& names) {
  Machine machine;
  machine.name = read_name(table, names);
  machine.rated_power_w = table.number("rated_power_w", {0.5, 2000, "a power in W from 0.5 to 2000",
                                                         TomlTable::Usual{10, 500, {{1000, "in kW"}}}});
  machine.top_speed_mm_s = table.number(
      "top_speed_mm_s",
      {1, 20000, "a speed in mm/s from 1 to 20000",
       TomlTable::Usual{
           80, 10000, {{1000, "in m/s"}, {kMmPerInch, "in inches a second"}, {1 / 60.0, "in mm a minute"}}}});
  machine.spot_mm =
      table.number("spot_mm", {0.01, 2, "a spot diameter in mm from 0.01 to 2", usual_mm(0.04, 0.5)}, 0.1);
  machine.depth_of_focus_mm = table.number(
      "depth_of_focus_mm", {0.05, 50, "a distance in mm from 0.05 to 50", usual_mm(0.2, 10)}, 1.0);
  machine.dpi = read_dpi(table);
  machine.power_pct = read_range(table, "power_pct", 0.1, 100, std::nullopt);
  machine.speed_pct = read_range(table, "speed_pct", 0.1, 100, std::nullopt);
  machine.tone_pct = read_range(table, "tone_pct", 1, 100, SteppedRange{100, 100, 10});
  machine.screens = table.texts("screens", "a list of screen names", std::vector<std::string>{"none"});
  if (machine.screens.empty()) machine.screens.push_back("none");
  for (const std::string& screen : machine.screens) check_text(table, "screens", screen, kLongestWord);
  refuse_repeats(table, "screens", machine.screens);
  doubt_screens(table, machine);
  machine.recipes_per_burn =
      static_cast<int>(table.integer("recipes_per_burn", {1, 1000, "a whole number from 1 to 1000"}, 16));
  machine.fills = table.texts("fills", "colours such as \"#1A3C6E\"", std::vector<std::string>{});
  for (const std::string& fill : machine.fills) {
    if (!is_fill_colour(fill)) table.fault("fills", errors::quoted(fill), "colours such as \"#1A3C6E\"");
    if (errors::to_lower(fill) == "#ffffff")
      table.fault("fills", errors::quoted(fill) + ", the white of the page",
                  "colours that show on white: nothing that is drawn in white is burned", "remove it");
  }
  refuse_repeats(table, "fills", machine.fills);
  if (machine.fills.empty() && machine.most_recipes() < machine.recipes_per_burn) {
    table.doubt(
        "recipes_per_burn", std::to_string(machine.recipes_per_burn),
        "at most " + std::to_string(machine.most_recipes()) + ", the colours drawn where fills names none",
        "a burn then holds no more recipes; for more, name the driver's own colours in fills");
  } else if (machine.most_recipes() < machine.recipes_per_burn) {
    table.doubt(
        "fills", textfile::counted(machine.most_recipes(), "colour", "colours"),
        "as many as recipes_per_burn, " + std::to_string(machine.recipes_per_burn),
        "a burn then holds no more recipes than there are fills; name every colour that the driver can "
        "give a setting of its own");
  }
  machine.turnaround_s = table.number(
      "turnaround_s", {0, 10, "a time in s from 0 to 10", TomlTable::Usual{0, 1, {{0.001, "in ms"}}}}, 0.05);
  machine.dose_limit_j_mm2 =
      table.number("dose_limit_j_mm2", {0, 1000, "a dose in J/mm2 from 0 (none) to 1000"}, 0.0);
  read_curve(table, machine);
  machine.rotary = read_rotary(table);
  table.finish();
  return machine;
}

Vessel read_vessel(TomlTable table, std::set<std::string>& names) {
  Vessel vessel;
  vessel.name = read_name(table, names);
  const TomlTable::Bounds diameter{
      10, 500, "a diameter in mm from 10 to 500, or { at_neck = ..., at_base = ... }", usual_mm(25, 300)};
  if (table.holds_table("diameter_mm")) {
    TomlTable taper = *table.table("diameter_mm", true, diameter.expected);
    vessel.diameter_at_neck_mm = taper.number("at_neck", diameter);
    vessel.diameter_at_base_mm = taper.number("at_base", diameter);
    taper.finish();
  } else {
    vessel.diameter_at_neck_mm = vessel.diameter_at_base_mm = table.number("diameter_mm", diameter);
  }
  vessel.panel_mm =
      table.number("panel_mm", {5, 1000, "a panel length in mm from 5 to 1000", usual_mm(20, 500)});
  vessel.seams = static_cast<int>(table.integer("seams", {0, 12, "a whole number from 0 to 12"}, 0));
  table.finish();
  return vessel;
}

Glass read_glass(TomlTable table, std::set<std::string>& names, const std::vector<std::string>& vessels) {
  Glass glass;
  glass.name = read_name(table, names);
  glass.family = table.text("family", "soda-lime, borosilicate, lead-crystal or other",
                            {"soda-lime", "borosilicate", "lead-crystal", "other"}, "other");
  glass.colour = table.text("colour", "a colour in words", {}, "unstated");
  check_text(table, "colour", glass.colour, kLongestWord);
  glass.vessel = table.text("vessel", "the name of a [[vessel]]");
  if (!glass.vessel.empty() && std::find(vessels.begin(), vessels.end(), glass.vessel) == vessels.end()) {
    const std::string near = errors::nearest(glass.vessel, vessels);
    table.fault("vessel", errors::quoted(glass.vessel), "the name of a [[vessel]]",
                near.empty() ? "add that vessel" : "did you mean \"" + near + "\"?");
  }
  glass.broken =
      table.texts("broken", "a list of bottles such as [\"amber-jug-1\"]", std::vector<std::string>{});
  table.finish();
  return glass;
}

template <typename Array>
void read_words(TomlTable& table, const std::string& key, Array& words) {
  if (!table.has(key)) {
    table.texts(key, "", std::vector<std::string>{});
    return;
  }
  const std::string expected = "a list of " + std::to_string(words.size()) + " texts";
  const std::vector<std::string> given = table.texts(key, expected);
  if (given.size() != words.size()) {
    table.fault(key, "a list of " + std::to_string(given.size()), expected,
                "the scale has a fixed number of grades");
    return;
  }
  for (const std::string& one : given) check_text(table, key, one, kLongestGradeWords);
  std::copy(given.begin(), given.end(), words.begin());
}

void read_acceptance(TomlTable& root, Acceptance& acceptance) {
  std::optional<TomlTable> table = root.table("acceptance", false, "an [acceptance] section");
  if (!table) return;
  acceptance.frost = static_cast<int>(table->integer("frost", {1, 5, "a frost grade from 1 to 5"}, 4));
  acceptance.chipping =
      static_cast<int>(table->integer("chipping", {0, 2, "a chipping grade from 0 to 2"}, 0));
  acceptance.chance = table->number("chance", {0.5, 0.999, "a chance from 0.5 to 0.999"}, 0.90);
  table->finish();
}

}  // namespace

std::filesystem::path shop_file(const std::filesystem::path& folder) {
  return (folder / "grids" / "shop.toml").lexically_normal();
}

Shop parse_shop(const std::string& text, const std::string& name) {
  FaultList faults;
  FaultList doubts;
  TomlTable root = TomlTable::parse(text, name, faults, &doubts);
  Shop shop;
  if (std::optional<TomlTable> table = root.table("shop", true, "a [shop] section with a name")) {
    shop.name = table->text("name", "the shop's name");
    check_text(*table, "name", shop.name, kLongestShopName);
    shop.units = table->text("units", "\"mm\" or \"in\"", {"mm", "in"}, "mm") == "in" ? LengthUnit::inch
                                                                                      : LengthUnit::mm;
    const std::string usual = shop.units == LengthUnit::inch ? "letter" : "a4";
    shop.paper = table->text("paper", "\"a4\" or \"letter\"", {"a4", "letter"}, usual) == "letter"
                     ? Paper::letter
                     : Paper::a4;
    table->finish();
  }
  read_acceptance(root, shop.acceptance);
  if (std::optional<TomlTable> table = root.table("grades", false, "a [grades] section")) {
    read_words(*table, "frost", shop.scale.frost);
    read_words(*table, "chipping", shop.scale.chipping);
    table->finish();
  }
  std::set<std::string> names;
  for (TomlTable& table : root.tables("machine", "[[machine]] sections")) {
    shop.machines.push_back(read_machine(std::move(table), names));
  }
  if (shop.machines.empty())
    root.fault("machine", "no machine", "at least one [[machine]] section",
               "describe the laser; 'frostcal start' writes an example");
  names.clear();
  for (TomlTable& table : root.tables("vessel", "[[vessel]] sections")) {
    shop.vessels.push_back(read_vessel(std::move(table), names));
  }
  const std::vector<std::string> vessels(names.begin(), names.end());
  names.clear();
  for (TomlTable& table : root.tables("glass", "[[glass]] sections")) {
    shop.glasses.push_back(read_glass(std::move(table), names, vessels));
  }
  root.finish();
  faults.throw_if_any();
  shop.doubts = doubts.faults();
  return shop;
}

Shop read_shop(const std::filesystem::path& folder) {
  const std::filesystem::path file = shop_file(folder);
  if (!textfile::exists(file)) {
    throw errors::UserError(errors::Fault{{file.string(), 0, 0, ""},
                                          "no such file",
                                          "the description of a shop",
                                          "make a shop folder with frostcal start DIR, or name one with "
                                          "--shop DIR"});
  }
  Shop shop = parse_shop(textfile::read_toml_text(folder, file), file.string());
  shop.folder = folder;
  return shop;
}

}  // namespace frostcal::shop
