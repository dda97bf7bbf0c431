#include "table/table_text.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "errors/bug.hpp"
#include "shop/burn_time.hpp"
#include "shop/shop_command.hpp"
#include "table/setting_json.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "textfile/wrapped_text.hpp"

namespace frostcal::table {

using Json = nlohmann::ordered_json;
using textfile::counted;
using textfile::format_fixed;
using textfile::format_number;
using textfile::joined;
using textfile::labelled_line;
using textfile::shown_chance;
using textfile::with_interval;

namespace {

std::string in_brackets(const std::string& text) {
  return text.empty() ? "" : " (" + text + ')';
}

std::string tolerance_text(double tolerance_pct) {
  if (tolerance_pct <= 0) return "no room for power to drift";
  return "power may drift " + format_number(tolerance_pct) + " % either way";
}

std::string evidence_text(int swatches, int bottles, const std::vector<std::string>& grids) {
  return counted(swatches, "swatch", "swatches") + " on " + counted(bottles, "bottle", "bottles") +
         (grids.empty() ? "" : " (" + joined(grids) + ')');
}

// The setting of a row or a decision, and what is believed of it.
template <typename Judged>
void add_judged(Json& object, const Judged& judged) {
  add_setting(object, judged.setting);
  object["chance"] = judged.chance;
  object["chance_low"] = judged.chance_low;
  object["chance_high"] = judged.chance_high;
  object["tolerance_pct"] = judged.tolerance_pct;
  object["seconds_per_cm2"] = judged.seconds_per_cm2;
}

Json row_json(const SettingsRow& row) {
  Json object{{"glass", row.glass}, {"machine", row.machine}};
  add_judged(object, row);
  object["swatches"] = row.swatches;
  object["bottles"] = row.bottles;
  object["grids"] = row.grids;
  object["status"] = to_text(row.status);
  object["reason"] = row.reason;
  object["adopted_by"] = row.adopted_by;
  object["adopted_at"] = row.adopted_at;
  return object;
}

// What a provisional row lacks to be settled, by its numbers.
std::vector<std::string> lacks_of(const SettingsRow& row, const shop::Acceptance& acceptance) {
  if (row.status != Status::provisional) return {};
  choice::Decision then;
  then.chance = row.chance;
  then.chance_low = row.chance_low;
  return lacks_to_settle(then, {row.swatches, row.bottles, 0}, acceptance);
}

std::string status_text(const SettingsRow& row, const shop::Shop& shop, bool excused) {
  const shop::Acceptance& acceptance = shop.acceptance;
  if (row.status == Status::settled) {
    return to_text(row.status) + (row.chance < acceptance.chance ? ", but under today's target of " +
                                                                       textfile::shown_bar(acceptance.chance)
                                                                 : "");
  }
  if (row.status == Status::provisional) {
    const std::vector<std::string> lacks = lacks_of(row, acceptance);
    if (!lacks.empty()) return to_text(row.status) + ": " + joined(lacks);
    return to_text(row.status) +
           (row.reason.empty()
                ? ": by its numbers it lacks nothing now; renew them:  " + renewal_command(shop, row)
                : ": adopted against the evidence");
  }
  if (excused) {
    return "STALE by pieces that are set aside; renew it before the next job:  " + renewal_command(shop, row);
  }
  return "STALE: pieces come out worse than promised; burn a grid before the next job, unless fit says that "
         "enough "
         "was learned since";
}

// Markdown cells must not break the table.
std::string cell(std::string text) {
  for (std::size_t at = 0; (at = text.find('|', at)) != std::string::npos; at += 2) text.insert(at, "\\");
  for (char& c : text) {
    if (c == '\n' || c == '\r') c = ' ';
  }
  return text;
}

bool is_wanted(const HistoryRow& row, const std::string& glass, const std::string& machine) {
  return (glass.empty() || row.row.glass == glass) && (machine.empty() || row.row.machine == machine);
}

bool is_wanted(const grades::SetAside& group, const std::string& glass, const std::string& machine) {
  return (glass.empty() || group.glass == glass) && (machine.empty() || group.fault.machine == machine);
}

}  // namespace

bool rests_on_set_aside(const SettingsRow& row, const TableRecord& record) {
  return std::any_of(record.logged.set_aside.begin(), record.logged.set_aside.end(), [&](const auto& group) {
    return group.glass == row.glass && group.fault.machine == row.machine &&
           group.fault.recorded_at >= row.adopted_at &&
           std::any_of(group.pieces.begin(), group.pieces.end(),
                       [&](const grades::PieceRow& piece) { return piece.logged_at <= row.adopted_at; });
  });
}

std::vector<ShownRow> shown_rows(const std::vector<SettingsRow>& rows, const TableRecord& record,
                                 const shop::Acceptance& acceptance) {
  std::vector<ShownRow> shown;
  for (const SettingsRow& row : rows) {
    const bool stale = row.status == Status::stale;
    shown.push_back({row, grades::set_aside_text(record.logged.set_aside, row.glass, row.machine),
                     stale && excuse(record, row, acceptance), !stale && rests_on_set_aside(row, record)});
  }
  return shown;
}

std::string table_text(const std::vector<ShownRow>& rows, const shop::Shop& shop) {
  std::string text;
  for (const auto& [row, set_aside, excused, rests_on_them] : rows) {
    text += (text.empty() ? "" : "\n") + row.glass + " on " + row.machine + ": " +
            shop::to_text(row.setting) + '\n';
    text += labelled_line("Status", status_text(row, shop, excused));
    text +=
        labelled_line("Chance", with_interval(row.chance, row.chance_low, row.chance_high) +
                                    " when adopted, by the bar of that day" +
                                    (row.status == Status::stale && !excused ? "; it no longer holds" : ""));
    text += labelled_line("Tolerance", tolerance_text(row.tolerance_pct));
    text += labelled_line("Burn time", shop::area_time_text(row.seconds_per_cm2, shop.units));
    text += labelled_line("Evidence", evidence_text(row.swatches, row.bottles, row.grids));
    if (!set_aside.empty()) text += labelled_line("Not counted", set_aside);
    if (rests_on_them) text += labelled_line("", "the numbers rest on them:  " + renewal_command(shop, row));
    text += labelled_line("Since", row.adopted_at.substr(0, 10) + " by " + row.adopted_by +
                                       (row.reason.empty() ? "" : ": " + row.reason));
  }
  return text;
}

std::string table_json(const std::vector<ShownRow>& rows, const shop::Acceptance& acceptance) {
  Json root;
  root["schema"] = "frostcal.table/1";
  root["rows"] = Json::array();
  for (const ShownRow& shown : rows) {
    root["rows"].push_back(row_json(shown.row));
    root["rows"].back()["set_aside"] = shown.set_aside;
    root["rows"].back()["excused"] = shown.excused;
    root["rows"].back()["rests_on_set_aside"] = shown.rests_on_them;
    root["rows"].back()["lacks"] = lacks_of(shown.row, acceptance);
  }
  return json_line(root);
}

std::string table_markdown(const std::vector<SettingsRow>& rows) {
  std::string text =
      "| Glass | Machine | Power % | Speed % | dpi | Tone % | Screen | Passes | Chance (90 %) | Drift % | "
      "Evidence | Status | Adopted |\n"
      "| --- | --- | ---: | ---: | ---: | ---: | --- | ---: | --- | ---: | --- | --- | --- |\n";
  for (const SettingsRow& row : rows) {
    const std::vector<std::string> cells{
        row.glass,
        row.machine,
        shop::dial_text(row.setting.power_pct),
        shop::dial_text(row.setting.speed_pct),
        std::to_string(row.setting.dpi),
        shop::dial_text(row.setting.tone_pct),
        row.setting.screen,
        std::to_string(row.setting.passes),
        shown_chance(row.chance) + " (" + shown_chance(std::min(row.chance, row.chance_low)) + " to " +
            shown_chance(std::max(row.chance, row.chance_high)) + ')',
        format_number(row.tolerance_pct),
        counted(row.swatches, "swatch", "swatches") + ", " + counted(row.bottles, "bottle", "bottles"),
        to_text(row.status),
        row.adopted_at.substr(0, 10) + ' ' + row.adopted_by};
    text += '|';
    for (const std::string& one : cells) text += ' ' + cell(one) + " |";
    text += '\n';
  }
  return text;
}

std::string change_text(const HistoryRow& row) {
  const std::string setting = shop::to_text(row.row.setting);
  switch (row.action) {
    case Action::adopt:
      return row.row.adopted_by + " put " + setting + " in force";
    case Action::restore:
      return row.row.adopted_by + " put " + setting + " in force again";
    case Action::stale:
      return setting + " was found stale by what " + row.row.adopted_by + " logged";
    case Action::withdraw:
      return row.row.adopted_by + " took " + setting + " out of force";
  }
  return "";
}

std::string history_text(const TableRecord& record, const std::string& glass, const std::string& machine) {
  const std::vector<HistoryRow>& history = record.history;
  std::string text;
  for (std::size_t i = 0; i < history.size(); ++i) {
    if (!is_wanted(history[i], glass, machine)) continue;
    const SettingsRow& row = history[i].row;
    std::string number = std::to_string(i + 1);
    number.insert(0, number.size() < 4 ? 4 - number.size() : 0, ' ');
    const bool withdrawn = history[i].action == Action::withdraw;
    text += number + "  " + row.adopted_at.substr(0, 10) + "  " + to_text(history[i].action) + "  " +
            row.glass + " on " + row.machine + ": " +
            (withdrawn ? "nothing in force" : shop::to_text(row.setting)) + '\n';
    if (!withdrawn) {
      text += "      " + to_text(row.status) + ", chance " +
              with_interval(row.chance, row.chance_low, row.chance_high) + ", " +
              evidence_text(row.swatches, row.bottles, {}) + '\n';
    }
    text += "      by " + row.adopted_by + (row.reason.empty() ? "" : ": " + row.reason) + '\n';
  }
  std::string aside;
  for (const grades::SetAside& group : record.logged.set_aside) {
    if (!is_wanted(group, glass, machine)) continue;
    const grades::CuredFault& fault = group.fault;
    aside += "      " + fault.recorded_at.substr(0, 10) + "  " + group.glass + " on " + fault.machine + ": " +
             fault.cure + ", by " + fault.by + "; " +
             counted(static_cast<long>(group.pieces.size()), "piece", "pieces") + " since " +
             fault.since.substr(0, 10) + '\n';
  }
  if (!aside.empty()) text += "Pieces set aside, since their machine had a fault that was cured:\n" + aside;
  return textfile::wrapped(text, textfile::kWidest, 6);
}

std::string history_json(const TableRecord& record, const std::string& glass, const std::string& machine) {
  const std::vector<HistoryRow>& history = record.history;
  Json root;
  root["schema"] = "frostcal.history/1";
  root["rows"] = Json::array();
  for (std::size_t i = 0; i < history.size(); ++i) {
    if (!is_wanted(history[i], glass, machine)) continue;
    Json row;
    row["number"] = i + 1;
    row.update(row_json(history[i].row));
    row["action"] = to_text(history[i].action);
    row["tool_version"] = history[i].tool_version;
    root["rows"].push_back(row);
  }
  root["set_aside"] = Json::array();
  for (const grades::SetAside& group : record.logged.set_aside) {
    if (!is_wanted(group, glass, machine)) continue;
    const grades::CuredFault& fault = group.fault;
    root["set_aside"].push_back({{"glass", group.glass},
                                 {"machine", fault.machine},
                                 {"cure", fault.cure},
                                 {"since", fault.since},
                                 {"by", fault.by},
                                 {"recorded_at", fault.recorded_at},
                                 {"pieces", group.pieces.size()}});
  }
  return json_line(root);
}

std::string adoption_text(const AdoptionCase& adoption, shop::LengthUnit units) {
  std::string text = adoption.glass + " on " + adoption.machine + '\n';
  if (adoption.old) {
    text += labelled_line(
        "Old", shop::to_text(adoption.old->setting) + ": " +
                   with_interval(adoption.old->chance, adoption.old->chance_low, adoption.old->chance_high) +
                   " when adopted");
    if (adoption.comparison) {
      const surface::ChanceInterval& now = adoption.comparison->old_now;
      text += labelled_line("", with_interval(now.chance, now.low, now.high) + " as believed now");
    }
  } else {
    text += labelled_line("Old", "nothing in force");
  }
  if (adoption.proposed) {
    const choice::Decision& proposed = *adoption.proposed;
    text += labelled_line("New",
                          shop::to_text(proposed.setting) +
                              (adoption.same_setting ? " (the same; its evidence is renewed)" : "") + ": " +
                              with_interval(proposed.chance, proposed.chance_low, proposed.chance_high));
    text += labelled_line("", tolerance_text(proposed.tolerance_pct) + ", " +
                                  shop::area_time_text(proposed.seconds_per_cm2, units));
  }
  if (adoption.comparison) {
    const Comparison& compared = *adoption.comparison;
    text += labelled_line("Gain", with_interval(compared.gain, compared.gain_low, compared.gain_high) +
                                      "; better with probability " +
                                      format_fixed(compared.probability_better, 2));
  }
  text += labelled_line("Evidence",
                        evidence_text(adoption.support.swatches, adoption.support.bottles, adoption.grids));
  if (adoption.pieces > 0 || !adoption.set_aside.empty()) {
    text += labelled_line("", "beside them " + counted(adoption.pieces, "logged piece", "logged pieces") +
                                  ", " + std::to_string(adoption.support.pieces) + " at this setting" +
                                  in_brackets(adoption.set_aside));
  }
  if (adoption.excused) {
    text += labelled_line("", "it was found stale by pieces that are set aside");
  }
  if (!adoption.carried_from.empty()) {
    text += labelled_line("", "the chance is carried over from " + adoption.carried_from +
                                  ", if the glass answers there as here");
  }
  for (std::size_t i = 0; i < adoption.objections.size(); ++i) {
    text += labelled_line(i == 0 ? "Against" : "", adoption.objections[i]);
  }
  if (adoption.objections.empty()) {
    for (std::size_t i = 0; i < adoption.lacks.size(); ++i) {
      text += labelled_line(i == 0 ? "To settle" : "", adoption.lacks[i]);
    }
  }
  return text;
}

std::string renewal_command(const shop::Shop& shop, const SettingsRow& row) {
  return shop::command_for(
      shop, "table adopt " + row.glass + " --machine " + row.machine + " --in-force --by NAME");
}

std::string in_force_text(const shop::Shop& shop, const AdoptionCase& today) {
  FROSTCAL_ASSERT(today.old && today.proposed && today.same_setting, "the setting in force");
  const SettingsRow& row = *today.old;
  const choice::Decision& now = *today.proposed;
  std::string text =
      labelled_line("In force", shop::to_text(row.setting) + " (" + to_text(row.status) +
                                    "): " + shown_chance(row.chance) + " when adopted, " +
                                    with_interval(now.chance, now.chance_low, now.chance_high) + " now");
  if (!shop::accepts(shop.machine(row.machine), row.setting)) {
    return text + labelled_line("", row.machine + " can't be set to it any more, as shop.toml has it");
  }
  if (row.status == Status::stale) {
    if (today.excused) {
      text += labelled_line(
          "", "it was found stale by pieces that are set aside:  " + renewal_command(shop, row));
    } else if (!today.needs_reason) {
      text +=
          labelled_line("", "enough was learned since it was found stale:  " + renewal_command(shop, row));
    }
  } else if (today.status != row.status) {
    text += labelled_line(
        "", "by the rules it is " + to_text(today.status) + " now:  " + renewal_command(shop, row));
  }
  return text;
}

std::string adoption_json(const AdoptionCase& adoption, const HistoryRow* adopted) {
  Json root;
  root["schema"] = "frostcal.adopt/1";
  root["adopted"] = adopted != nullptr;
  root["row"] = adopted != nullptr ? row_json(adopted->row) : Json(nullptr);
  root["old"] = adoption.old ? row_json(*adoption.old) : Json(nullptr);
  root["proposed"] = Json(nullptr);
  if (adoption.proposed) {
    Json& object = root["proposed"] = Json::object();
    add_judged(object, *adoption.proposed);
    object["status"] = to_text(adoption.status);
    object["carried_from"] = adoption.carried_from;
  }
  root["swatches"] = adoption.support.swatches;
  root["bottles"] = adoption.support.bottles;
  root["grids"] = adoption.grids;
  const bool compared = adoption.comparison.has_value();
  const Comparison comparison = adoption.comparison.value_or(Comparison{});
  const auto number = [&](double value) { return compared ? Json(value) : Json(nullptr); };
  root["old_chance_now"] = number(comparison.old_now.chance);
  root["gain"] = number(comparison.gain);
  root["gain_low"] = number(comparison.gain_low);
  root["gain_high"] = number(comparison.gain_high);
  root["probability_better"] = number(comparison.probability_better);
  root["objections"] = adoption.objections;
  root["lacks"] = adoption.lacks;
  root["pieces"] = adoption.pieces;
  root["pieces_here"] = adoption.support.pieces;
  root["set_aside"] = adoption.set_aside;
  return json_line(root);
}

}  // namespace frostcal::table
