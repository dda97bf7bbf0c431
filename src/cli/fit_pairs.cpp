#include "cli/fit_pairs.hpp"

#include <algorithm>
#include <set>

#include "table/settings_table.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::cli {

namespace {

/// `why` ends a sentence that begins with the glass: "is graded".
const shop::Machine& named_or_only(const Arguments& arguments, const shop::Shop& shop,
                                   const std::set<std::string>& machines, const std::string& why) {
  if (arguments.has("machine") || machines.empty()) return shop.machine_or_default(arguments.text("machine"));
  if (machines.size() > 1) {
    throw UsageError(arguments.operands.at(0) + ' ' + why + " on " +
                     textfile::listed({machines.begin(), machines.end()}) +
                     ": say which with --machine NAME");
  }
  return shop.machine(*machines.begin());
}

}  // namespace

std::vector<std::pair<std::string, std::string>> wanted_pairs(const Arguments& arguments,
                                                              const shop::Shop& shop,
                                                              const surface::ShopEvidence& evidence) {
  std::vector<std::pair<std::string, std::string>> pairs;
  const std::string machine = arguments.text("machine");
  if (!machine.empty()) shop.machine(machine);
  std::vector<std::string> names;
  for (const std::string& name : arguments.operands) {
    shop.glass(name);
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  }
  const bool all = names.empty();
  if (all) {
    for (const shop::Glass& glass : shop.glasses) names.push_back(glass.name);
  }
  for (const std::string& name : names) {
    std::vector<std::string> machines;
    for (const surface::GradedGrid& graded : evidence.grids) {
      const bool fits = graded.grid.glass == name && (!all || !graded.graded.empty()) &&
                        (machine.empty() || graded.grid.machine == machine);
      if (fits && std::find(machines.begin(), machines.end(), graded.grid.machine) == machines.end()) {
        machines.push_back(graded.grid.machine);
      }
    }
    if (machines.empty() && !all) machines.push_back(shop.machine_or_default(machine).name);
    for (const std::string& one : machines) pairs.emplace_back(name, one);
  }
  return pairs;
}

const shop::Machine& machine_for(const Arguments& arguments, const shop::Shop& shop,
                                 const surface::ShopEvidence& evidence, const std::string& glass) {
  std::set<std::string> machines;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass == glass && !graded.graded.empty()) machines.insert(graded.grid.machine);
  }
  return named_or_only(arguments, shop, machines, "is graded");
}

const shop::Machine& machine_in_force(const Arguments& arguments, const shop::Shop& shop,
                                      const std::vector<table::HistoryRow>& history,
                                      const std::string& glass) {
  std::set<std::string> machines;
  for (const shop::Machine& machine : shop.machines) {
    if (table::in_force(history, glass, machine.name)) machines.insert(machine.name);
  }
  return named_or_only(arguments, shop, machines, "has a setting in force");
}

const shop::Machine& machine_in_history(const Arguments& arguments, const shop::Shop& shop,
                                        const std::vector<table::HistoryRow>& history,
                                        const std::string& glass) {
  std::set<std::string> machines;
  for (const table::HistoryRow& row : history) {
    if (row.row.glass == glass && shop.find_machine(row.row.machine) != nullptr)
      machines.insert(row.row.machine);
  }
  return named_or_only(arguments, shop, machines, "has a history");
}

}  // namespace frostcal::cli
