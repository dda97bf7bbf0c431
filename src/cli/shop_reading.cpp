#include "cli/shop_reading.hpp"

#include <algorithm>
#include <filesystem>
#include <system_error>

#include "cli/message.hpp"
#include "cli/terminal.hpp"
#include "design/grid_file.hpp"
#include "grades/cured_file.hpp"
#include "grades/grade_file.hpp"
#include "grades/logged_pieces.hpp"
#include "shop/shop_command.hpp"
#include "table/settings_table.hpp"
#include "textfile/append_row.hpp"
#include "textfile/open_file.hpp"
#include "textfile/phrases.hpp"
#include "textfile/time_text.hpp"

namespace frostcal::cli {

namespace {

std::string first_of(std::vector<std::string> names) {
  constexpr std::size_t kMostNamed = 3;
  if (names.size() <= kMostNamed) return textfile::joined(names);
  const std::string more = std::to_string(names.size() - kMostNamed) + " more";
  names.resize(kMostNamed);
  return textfile::joined(names) + " and " + more;
}

std::vector<std::string> without_grid(const shop::Shop& shop, const surface::ShopEvidence& evidence) {
  std::vector<std::string> ids = design::graded_ids(shop);
  const auto has_grid = [&](const std::string& id) {
    return std::any_of(evidence.grids.begin(), evidence.grids.end(),
                       [&](const surface::GradedGrid& graded) { return graded.grid.id == id; });
  };
  ids.erase(std::remove_if(ids.begin(), ids.end(), has_grid), ids.end());
  return ids;
}

std::vector<std::string> files_with_cut_rows(const shop::Shop& shop, const surface::ShopEvidence& evidence) {
  std::vector<textfile::AppendedFile> files;
  for (const surface::GradedGrid& graded : evidence.grids) {
    files.push_back(grades::grades_layout(shop, graded.grid.id));
  }
  files.push_back(grades::pieces_layout(shop));
  files.push_back(grades::cured_layout(shop));
  files.push_back(table::history_layout(shop));
  std::vector<std::string> names;
  for (const textfile::AppendedFile& file : files) {
    const auto read = textfile::read_appended(file);
    if (read && read->tail && !read->tail->dropped.empty()) names.push_back(textfile::shown(file.path));
  }
  return names;
}

std::vector<std::string> graded_early(const surface::ShopEvidence& evidence) {
  std::vector<std::string> ids;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.early) ids.push_back(graded.grid.id);
  }
  return ids;
}

std::vector<std::string> lost_glasses(const shop::Shop& shop, const surface::ShopEvidence& evidence) {
  std::vector<std::string> names;
  for (const surface::GradedGrid& graded : evidence.grids) {
    const std::string& name = graded.grid.glass;
    if (shop.find_glass(name) == nullptr && std::find(names.begin(), names.end(), name) == names.end())
      names.push_back(name);
  }
  return names;
}

std::vector<std::string> emptied(const surface::ShopEvidence& evidence, const shop::Shop& shop) {
  std::vector<std::string> names;
  for (const surface::GradedGrid& graded : evidence.grids) {
    const textfile::AppendedFile file = grades::grades_layout(shop, graded.grid.id);
    std::error_code error;
    if (std::filesystem::file_size(file.path, error) == 0 && !error)
      names.push_back(textfile::shown(file.path));
  }
  return names;
}

/// Machines and vessels whose figures are no longer those that their latest graded grid was planned with.
std::vector<std::string> changed_figures(const surface::ShopEvidence& evidence, const shop::Shop& shop) {
  std::map<std::string, const design::Grid*> latest;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.graded.empty()) continue;
    for (const std::string& name : {graded.grid.machine, graded.grid.vessel}) latest[name] = &graded.grid;
  }
  std::vector<std::string> said;
  for (const auto& [name, grid] : latest) {
    std::vector<std::string> changes;
    for (const design::ChangedFigure& change : design::changes_since(*grid, shop)) {
      if (change.of == name) changes.push_back(change.text);
    }
    if (!changes.empty())
      said.push_back(name + " (" + textfile::joined(changes) + ", by grid " + grid->id + ')');
  }
  return said;
}

}  // namespace

surface::ShopEvidence read_evidence(const shop::Shop& shop, const Streams& streams,
                                    const std::string& as_of) {
  surface::ShopEvidence evidence = surface::read_evidence(shop, as_of);
  std::vector<std::string> said;
  const auto say = [&](const std::vector<std::string>& names, const std::string& before,
                       const std::string& after) {
    if (!names.empty()) said.push_back(before + first_of(names) + after);
  };
  say(without_grid(shop, evidence), "left out are the grades of ", ", whose grid is not there");
  say(files_with_cut_rows(shop, evidence), "left out is the last row, which was cut, of ", "");
  say(graded_early(evidence), "counted, but doubtful, are the grades of ", ", from before it was planned");
  say(lost_glasses(shop, evidence), "not shown are the grids of ", ", which shop.toml does not have");
  say(emptied(evidence, shop), "without any grades are the empty ", "");
  if (const std::vector<std::string> changed = changed_figures(evidence, shop); !changed.empty()) {
    tell(streams,
         "shop.toml describes otherwise than when the latest grid was planned: " + first_of(changed) +
             ". All grades are read by today's figures. If this is another tube, lens or bottle, give "
             "it a section of its own instead:  " +
             shop::command_for(shop, "check") + "  says how.\n");
  }
  if (!said.empty()) {
    tell(streams, "Of the shop's files " + textfile::joined(said, "; ") +
                      ". For more:  " + shop::command_for(shop, "check") + '\n');
  }
  return evidence;
}

std::optional<std::string> impossible_now(const shop::Shop& shop, const std::string& machine,
                                          const shop::Setting& setting) {
  const shop::Machine* now = shop.find_machine(machine);
  if (now == nullptr || shop::accepts(*now, setting)) return std::nullopt;
  return "As shop.toml has it, " + machine + " can't be set to " + shop::to_text(setting) +
         " any more: burn a grid, or correct shop.toml.";
}

std::vector<table::HistoryRow> read_history(const shop::Shop& shop, const Streams& streams) {
  std::vector<table::HistoryRow> history = table::read_history(shop);
  if (const auto lost = table::lost_rows(shop, history)) tell(streams, errors::to_text(*lost) + '\n');
  return history;
}

std::vector<table::HistoryRow> read_whole_history(const shop::Shop& shop) {
  std::vector<table::HistoryRow> history = table::read_history(shop);
  if (const auto lost = table::lost_rows(shop, history)) throw errors::UserError(*lost);
  return history;
}

table::TableRecord read_record(const shop::Shop& shop, const Streams& streams) {
  return {read_history(shop, streams), grades::read_logged(shop)};
}

table::TableRecord read_whole_record(const shop::Shop& shop) {
  return {read_whole_history(shop), grades::read_logged(shop)};
}

namespace {

/// A file whose rows say when they were written.
struct TimedFile {
  errors::SourcePlace place;
  std::string remedy;
  std::vector<std::pair<std::string, int>> rows;  // time and line
};

std::vector<TimedFile> timed_files(const shop::Shop& shop) {
  const auto place = [](const textfile::AppendedFile& file, const std::string& field) {
    return errors::SourcePlace{textfile::shown(file.path), 0, 0, field};
  };
  const std::string correct = "if the times of the rows are wrong, correct them there";
  TimedFile pieces{place(grades::pieces_layout(shop), "logged_at"), correct, {}};
  TimedFile cured{place(grades::cured_layout(shop), "recorded_at"), correct, {}};
  TimedFile history{place(table::history_layout(shop), "adopted_at"),
                    "if the row's own time is wrong: its checksum forbids to correct it, so " +
                        std::string(table::kMendHistory),
                    {}};
  const auto unless_faulty = [](const auto& read) {
    try {
      read();
    } catch (const errors::UserError&) {
    }
  };
  unless_faulty([&] {
    for (const grades::PieceRow& row : grades::read_pieces(shop)) {
      pieces.rows.emplace_back(row.logged_at, row.line);
    }
  });
  unless_faulty([&] {
    for (const grades::CuredFault& row : grades::read_cured(shop)) {
      cured.rows.emplace_back(row.recorded_at, row.line);
    }
  });
  unless_faulty([&] {
    for (const table::HistoryRow& row : table::read_history(shop)) {
      history.rows.emplace_back(row.row.adopted_at, row.line);
    }
  });
  return {pieces, cured, history};
}

std::vector<errors::Fault> rows_ahead_in(const std::vector<TimedFile>& files) {
  const std::string now = now_text();  // after the reading: what others write meanwhile is not later
  const std::string bearable = textfile::format_utc_time(now_seconds() + kBearableSeconds);
  std::vector<errors::Fault> faults;
  for (const TimedFile& file : files) {
    errors::Fault fault{file.place, "",
                        "rows of before now; what is recorded with an earlier time would not count",
                        "set this computer's clock (the zone does not matter); " + file.remedy};
    for (const auto& [time, line] : file.rows) {
      if (time < bearable) continue;
      if (!fault.found.empty()) {
        ++fault.rows_alike;
        continue;
      }
      fault.place.line = line;
      fault.found = time + ", but by this computer's clock it is only " + now;
    }
    if (!fault.found.empty()) faults.push_back(fault);
  }
  return faults;
}

}  // namespace

std::vector<errors::Fault> rows_ahead(const shop::Shop& shop) {
  return rows_ahead_in(timed_files(shop));
}

std::string time_after_rows(const shop::Shop& shop) {
  const std::vector<TimedFile> files = timed_files(shop);
  const std::vector<errors::Fault> faults = rows_ahead_in(files);
  if (!faults.empty()) throw errors::UserError(faults);
  const std::string now = now_text();
  std::string newest;
  for (const TimedFile& file : files)
    for (const auto& [time, line] : file.rows) newest = std::max(newest, time);
  return newest > now ? textfile::format_utc_time(*textfile::utc_seconds(newest) + 1) : now;
}

std::string time_after_cures(const shop::Shop& shop, const std::string& machine) {
  std::string now = time_after_rows(shop);
  for (const grades::CuredFault& fault : grades::read_cured(shop)) {
    if (fault.machine == machine && fault.recorded_at == now) return later_than(now);
  }
  return now;
}

}  // namespace frostcal::cli
