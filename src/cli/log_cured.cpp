#include "cli/log_cured.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <ostream>
#include <set>

#include "cli/fit_pairs.hpp"
#include "cli/message.hpp"
#include "cli/shop_reading.hpp"
#include "cli/terminal.hpp"
#include "cli/text_option.hpp"
#include "errors/user_error.hpp"
#include "grades/cured_file.hpp"
#include "grades/logged_pieces.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "table/setting_json.hpp"
#include "table/settings_table.hpp"
#include "table/stale_check.hpp"
#include "table/table_text.hpp"
#include "textfile/open_file.hpp"
#include "textfile/phrases.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::cli {

namespace {

using textfile::counted;

void refuse_other_options(const Arguments& arguments) {
  const std::set<std::string> allowed{"cured", "since", "machine", "by", "json", "shop", "no-color"};
  for (const auto& [option, values] : arguments.values) {
    if (allowed.count(option) == 0) throw UsageError("--" + option + " does not go with --cured");
  }
}

// From when on pieces are set aside: --since, else the first reject of the run that made the setting stale.
std::string read_since(const Arguments& arguments, const table::TableRecord& record, const std::string& glass,
                       const std::string& machine, const shop::Acceptance& acceptance,
                       const std::string& now) {
  if (const auto day = arguments.find("since")) {
    if (day->size() != 10 || !textfile::day_number(*day)) {
      throw UsageError("--since: found " + errors::quoted(*day) + ", expected a day such as 2026-11-25");
    }
    if (*day > now.substr(0, 10)) {
      throw UsageError("--since: found " + *day + ", which is still to come; today is " + now.substr(0, 10) +
                       " (UTC)");
    }
    return *day + "T00:00:00Z";
  }
  const auto began = table::worse_since(record, glass, machine, acceptance);
  if (!began) {
    throw UsageError("--since is missing: no run of rejects of " + glass + " on " + machine +
                     " is under way, so say the day on which the fault began");
  }
  return *began;
}

void refuse_before_all_pieces(const Arguments& arguments, const table::TableRecord& record,
                              const std::string& machine) {
  std::string first;
  for (const grades::PieceRow& piece : record.logged.all) {
    if (piece.machine == machine && (first.empty() || piece.logged_at < first)) first = piece.logged_at;
  }
  const auto day = arguments.find("since");
  if (!day || first.empty() || *day >= first.substr(0, 10)) return;
  throw UsageError("--since: found " + *day + ", but the first piece on " + machine + " was logged on " +
                   first.substr(0, 10) + "; give that day or a later one");
}

// Grids that were graded on the machine in those days.
std::vector<std::string> doubtful_grids(const surface::ShopEvidence& evidence,
                                        const grades::CuredFault& fault) {
  grades::CuredFault whole_days = fault;
  whole_days.since = fault.since.substr(0, 10) + "T00:00:00Z";
  std::vector<std::string> ids;
  for (const surface::GradedGrid& graded : evidence.grids) {
    const bool any =
        std::any_of(graded.graded.begin(), graded.graded.end(), [&](const grades::SwatchGrade& grade) {
          // A bare day may have been at any time of that day.
          const grades::CuredFault& days = textfile::is_bare_day(grade.graded_at) ? whole_days : fault;
          return grades::covers(days, graded.grid.machine, grade.graded_at);
        });
    if (any) ids.push_back(graded.grid.id);
  }
  return ids;
}

struct Judged {
  int good = 0;
  int rejects = 0;
  int neither = 0;
};

Judged judged(const std::vector<grades::PieceRow>& pieces, const shop::Acceptance& acceptance) {
  Judged count;
  for (const grades::PieceRow& piece : pieces) {
    const std::optional<bool> good = table::is_good(piece, acceptance);
    ++(!good ? count.neither : *good ? count.good : count.rejects);
  }
  return count;
}

// What follows for the settings in force on the machine.
struct Consequences {
  std::vector<table::SettingsRow> excused;   // stale by what is set aside
  std::vector<table::SettingsRow> before;    // excused already by what was set aside before
  std::vector<table::SettingsRow> stale;     // stale all the same
  std::vector<table::SettingsRow> rests_on;  // adopted meanwhile, with those pieces
};

Consequences consequences(const table::TableRecord& earlier, const table::TableRecord& record,
                          const grades::CuredFault& fault, const std::vector<grades::SetAside>& groups,
                          const shop::Acceptance& acceptance) {
  Consequences result;
  for (const table::SettingsRow& row : table::in_force(record.history)) {
    const auto group = std::find_if(groups.begin(), groups.end(),
                                    [&](const grades::SetAside& one) { return one.glass == row.glass; });
    if (row.machine != fault.machine || group == groups.end()) continue;
    if (row.status == table::Status::stale) {
      (table::excuse(earlier, row, acceptance)  ? result.before
       : table::excuse(record, row, acceptance) ? result.excused
                                                : result.stale)
          .push_back(row);
    } else if (table::rests_on_set_aside(row, record)) {
      result.rests_on.push_back(row);
    }
  }
  return result;
}

std::string cured_json(const shop::Shop& shop, const grades::CuredFault& fault,
                       const std::vector<grades::SetAside>& groups, const std::vector<std::string>& grids,
                       const Consequences& after) {
  using Json = nlohmann::ordered_json;
  Json root;
  root["schema"] = "frostcal.cured/1";
  root["machine"] = fault.machine;
  root["cure"] = fault.cure;
  root["since"] = fault.since;
  root["recorded_at"] = fault.recorded_at;
  root["set_aside"] = Json::array();
  for (const grades::SetAside& group : groups) {
    const Judged count = judged(group.pieces, shop.acceptance);
    root["set_aside"].push_back({{"glass", group.glass},
                                 {"pieces", group.pieces.size()},
                                 {"good", count.good},
                                 {"rejects", count.rejects}});
  }
  root["grids"] = grids;
  root["renew"] = Json::array();
  for (const table::SettingsRow& row : after.excused)
    root["renew"].push_back(table::renewal_command(shop, row));
  for (const table::SettingsRow& row : after.before)
    root["renew"].push_back(table::renewal_command(shop, row));
  for (const table::SettingsRow& row : after.rests_on)
    root["renew"].push_back(table::renewal_command(shop, row));
  root["still_stale"] = Json::array();
  for (const table::SettingsRow& row : after.stale) root["still_stale"].push_back(row.glass);
  return table::json_line(root);
}

std::string cured_text(const shop::Shop& shop, const grades::CuredFault& fault,
                       const std::vector<grades::SetAside>& groups, const std::vector<std::string>& grids,
                       const Consequences& after) {
  std::string text = "Recorded for " + fault.machine + ": " + fault.cure +
                     ".\nSet aside is what was logged on " + fault.machine + " from " + fault.since +
                     " until now; it counts no longer:\n";
  for (const grades::SetAside& group : groups) {
    const Judged count = judged(group.pieces, shop.acceptance);
    text += "  " + counted(static_cast<long>(group.pieces.size()), "piece", "pieces") + " of " + group.glass +
            ": " + std::to_string(count.good) + " good, " + counted(count.rejects, "reject", "rejects") +
            (count.neither > 0 ? ", " + std::to_string(count.neither) + " neither" : "") + '\n';
  }
  if (!grids.empty()) {
    text += "Grids graded on " + fault.machine +
            " in those days, which count as before: " + textfile::joined(grids) +
            ".\nIf they had the fault too, take their grades back and burn them anew:\n  " +
            shop::command_for(shop, "grade N --withdraw --grader NAME") + '\n';
  }
  for (const table::SettingsRow& row : after.excused) {
    text += "The setting in force for " + row.glass +
            " was found stale by those pieces. Burn one on a scrap bottle, and if it is good,\nrenew the "
            "setting:  " +
            table::renewal_command(shop, row) + '\n';
  }
  for (const table::SettingsRow& row : after.before) {
    text += "The setting in force for " + row.glass +
            " was found stale by pieces that were set aside before. Renew it:  " +
            table::renewal_command(shop, row) + '\n';
  }
  for (const table::SettingsRow& row : after.rests_on) {
    text += "The setting in force for " + row.glass +
            " was adopted in those days, with those pieces. Renew it:  " + table::renewal_command(shop, row) +
            '\n';
  }
  for (const table::SettingsRow& row : after.stale) {
    text += "The setting in force for " + row.glass +
            " stays stale: what is left was still worse than promised, or it was not found so in those\n"
            "days. If the fault began earlier, record it again with an earlier --since; else burn a grid:  " +
            shop::plan_command(shop, row.glass, row.machine) + '\n';
  }
  return text + "To take this back, delete its row from " + textfile::shown(grades::cured_layout(shop).path) +
         ".\n";
}

}  // namespace

std::string cured_command(const shop::Shop& shop, const table::SettingsRow& row) {
  return shop::command_for(
      shop, "log " + row.glass + " --machine " + row.machine + " --cured \"lens cleaned\" --by NAME");
}

ExitStatus log_cured(const Arguments& arguments, const Streams& streams) {
  refuse_other_options(arguments);
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const std::string& glass = arguments.operands.at(0);
  shop.glass(glass);
  const table::TableRecord earlier = read_whole_record(shop);
  table::TableRecord record = earlier;
  grades::CuredFault fault;
  fault.machine = machine_in_force(arguments, shop, record.history, glass).name;
  fault.by = read_by(arguments);
  fault.cure = read_note(arguments, "cured");
  if (fault.cure.empty()) {
    throw UsageError("--cured: found an empty text, expected what was done, such as \"lens cleaned\"");
  }
  fault.recorded_at = time_after_rows(shop);
  fault.since = read_since(arguments, record, glass, fault.machine, shop.acceptance, fault.recorded_at);
  refuse_before_all_pieces(arguments, record, fault.machine);
  const surface::ShopEvidence evidence = read_evidence(shop, streams);

  std::vector<grades::CuredFault> cured = record.logged.cured;
  cured.push_back(fault);
  const std::size_t known = record.logged.set_aside.size();
  grades::LoggedPieces after = grades::sort_pieces(record.logged.all, std::move(cured));
  // A piece is with the first fault that has it, so the new groups stand last.
  const std::vector<grades::SetAside> groups(after.set_aside.begin() + static_cast<std::ptrdiff_t>(known),
                                             after.set_aside.end());
  if (groups.empty()) {
    tell(streams, "Nothing to set aside: no piece that counts was logged on " + fault.machine + " from " +
                      fault.since + " until now. Nothing is recorded.\n");
    return ExitStatus::no;
  }
  const InterruptDelay delay;
  tell_dropped(streams, grades::cured_layout(shop), grades::append_cured(shop, fault));
  record.logged = std::move(after);
  const std::vector<std::string> grids = doubtful_grids(evidence, fault);
  const Consequences follows = consequences(earlier, record, fault, groups, shop.acceptance);
  if (arguments.has("json")) {
    streams.out << cured_json(shop, fault, groups, grids, follows);
  } else {
    show(streams, cured_text(shop, fault, groups, grids, follows));
  }
  return ExitStatus::done;
}

}  // namespace frostcal::cli
