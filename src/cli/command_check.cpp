#include <filesystem>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/message.hpp"
#include "cli/shop_check.hpp"
#include "shop/shop_file.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::cli {

namespace {

nlohmann::ordered_json fault_list(const std::vector<errors::Fault>& faults) {
  nlohmann::ordered_json list = nlohmann::ordered_json::array();
  for (const errors::Fault& fault : faults) {
    list.push_back({{"file", fault.place.file},
                    {"line", fault.place.line},
                    {"column", fault.place.column},
                    {"field", fault.place.field},
                    {"found", fault.found},
                    {"expected", fault.expected},
                    {"remedy", fault.remedy},
                    {"rows_alike", fault.rows_alike},
                    {"text", errors::to_text(fault)}});
  }
  return list;
}

std::string check_json(const ShopCheck& check) {
  const nlohmann::ordered_json all = {{"schema", "frostcal.check/1"},
                                      {"files", check.files},
                                      {"faults", fault_list(check.faults)},
                                      {"mended", check.mended},
                                      {"doubtful", fault_list(check.doubts)}};
  // A path need not be UTF-8.
  return all.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

ExitStatus run_check(const Arguments& arguments, const Streams& streams) {
  std::error_code error;
  if (!std::filesystem::is_directory(shop::shop_file(arguments.shop).parent_path(), error)) {
    (void)shop::read_shop(arguments.shop);  // there is no shop at all, which is trouble
  }
  const ShopCheck check = check_shop(arguments.shop, arguments.has("repair"));
  if (arguments.has("json")) {
    streams.out << check_json(check) << '\n';
  } else {
    for (const std::string& mended : check.mended) streams.out << mended << '\n';
    for (const errors::Fault& fault : check.faults) show(streams, errors::to_text(fault) + '\n');
    for (const errors::Fault& doubt : check.doubts) {
      show(streams, errors::to_text(doubt) + " (doubtful, not a fault)\n");
    }
    const int faults = static_cast<int>(check.faults.size());
    streams.out << textfile::counted(check.files, "file", "files") << " read, "
                << (faults == 0 ? "no faults" : textfile::counted(faults, "fault", "faults"))
                << (check.doubts.empty() ? ""
                                         : ", " + textfile::counted(static_cast<int>(check.doubts.size()),
                                                                    "doubtful value", "doubtful values"))
                << ".\n";
  }
  return check.faults.empty() ? ExitStatus::done : ExitStatus::no;
}

}  // namespace

Command check_command() {
  return {
      "check",
      "",
      0,
      0,
      "verify every file of the shop and name each fault",
      "Reads every file of the shop folder and names each fault with its place and what to do.\n\n"
      "--repair mends what needs no guess: a row that was cut while it was written, temporary files of a "
      "killed run, a settings table that does not follow from the history, sheets of a grid that are "
      "missing or "
      "cut (drawn again from grid.toml and swatches.csv). It never touches what a person wrote.\n\n"
      "A value that the program can work with, but that looks like a slip (a length in cm in shop.toml, a "
      "screen that can't be drawn, grades from before their grid was planned, pieces that the history "
      "counted and that are gone), is named as doubtful and is "
      "no fault.\n\n"
      "Exit status: 0 no faults (any more); 1 faults; 2 trouble.",
      {{"repair", "", "mend what can be mended without guessing", false},
       {"json", "", "print the result as JSON", false}},
      run_check};
}

}  // namespace frostcal::cli
