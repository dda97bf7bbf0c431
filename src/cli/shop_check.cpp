#include "cli/shop_check.hpp"

#include <algorithm>
#include <iterator>
#include <map>
#include <set>

#include "cli/draw_sheets.hpp"
#include "cli/shop_reading.hpp"
#include "cli/terminal.hpp"
#include "design/grid_file.hpp"
#include "errors/system_error.hpp"
#include "grades/grade_file.hpp"
#include "grades/logged_pieces.hpp"
#include "sheet/pdf_shape.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "table/counted_pieces.hpp"
#include "table/settings_table.hpp"
#include "table/table_text.hpp"
#include "textfile/append_row.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/file_lock.hpp"
#include "textfile/file_system.hpp"
#include "textfile/open_file.hpp"
#include "textfile/phrases.hpp"
#include "textfile/read_file.hpp"
#include "textfile/time_text.hpp"
#include "textfile/utf8.hpp"

namespace frostcal::cli {

namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostSheetBytes = 64U << 20U;

class Checker {
 public:
  Checker(const fs::path& folder, bool repair, ShopCheck& result)
      : folder_(folder), repair_(repair), result_(result) {}

  void run() {
    leftovers();
    long_numbers(folder_ / "grids");
    long_numbers(folder_ / "results");
    const bool sound = look([&] { shop_ = shop::read_shop(folder_); });
    if (!sound) return;  // nothing else can be judged without it
    result_.doubts = shop_.doubts;
    const std::vector<std::string> ids = design::grid_ids(shop_);
    for (const std::string& id : ids) grid(id);
    changed_figures();
    shared_numbers(ids);
    broken_bottles();
    stray_results(ids);
    pieces();
    settings();
    try {
      // Nothing can be recorded while there are such rows.
      for (const errors::Fault& ahead : rows_ahead(shop_)) result_.faults.push_back(ahead);
    } catch (const errors::SystemError&) {
      // a file that may not be read, which is told above
    }
  }

 private:
  /// Runs one reading and gathers its faults; true when there were none.
  template <typename Reading>
  bool look(Reading reading) {
    ++result_.files;
    return look_again(reading);
  }

  /// The same without counting a file.
  template <typename Reading>
  bool look_again(Reading reading) {
    try {
      reading();
      return true;
    } catch (const errors::UserError& error) {
      result_.faults.insert(result_.faults.end(), error.faults().begin(), error.faults().end());
    } catch (const errors::SystemError& error) {
      result_.faults.push_back({{}, "", "", error.what()});
    }
    return false;
  }

  void add(const fs::path& path, const std::string& found, const std::string& expected,
           const std::string& remedy) {
    result_.faults.push_back({{textfile::shown(path), 0, 0, ""}, found, expected, remedy});
  }

  static std::vector<std::string> names_in(const fs::path& folder) {
    std::vector<std::string> names;
    const int listed = textfile::real_file_system().list(folder.string(), names);
    if (listed < 0 && listed != -ENOENT && listed != -ENOTDIR) {
      throw errors::SystemError(textfile::shown(folder), "list", -listed);
    }
    return names;
  }

  static std::optional<textfile::FileKind> kind_of(const fs::path& path) {
    textfile::FileStatus status;
    if (textfile::real_file_system().link_status(path.string(), status) < 0) return std::nullopt;
    return status.kind;
  }

  static bool is_folder(const fs::path& path) { return kind_of(path) == textfile::FileKind::folder; }

  std::string repair_command() const { return shop::command_for(folder_, "check --repair"); }

  /// The name that ".NAME.tmp" was to get: so frostcal calls what it is writing.
  static std::string name_behind(const std::string& temporary) {
    const bool is_temporary = temporary.size() > 5 && temporary[0] == '.' &&
                              temporary.compare(temporary.size() - 4, 4, ".tmp") == 0;
    return is_temporary ? temporary.substr(1, temporary.size() - 5) : "";
  }

  /// What a killed run was writing; the file or folder it was to become is whole or not there. Others' files
  /// of such names, and in other places, are left alone.
  void leftovers() {
    const fs::path grids = folder_ / "grids";
    for (const std::string& name : names_in(grids)) {
      const std::string behind = name_behind(name);
      if (behind == shop::shop_file(folder_).filename()) leftover(grids / name, textfile::FileKind::file);
      if (design::is_grid_id(behind)) leftover(grids / name, textfile::FileKind::folder);
      if (!design::is_grid_id(name) || !is_folder(grids / name)) continue;
      const std::set<std::string> written{"grid.toml", "swatches.csv", "burn.pdf", "run.pdf"};
      for (const std::string& inner : names_in(grids / name)) {
        if (written.count(name_behind(inner)) != 0) leftover(grids / name / inner, textfile::FileKind::file);
      }
    }
    const fs::path results = folder_ / "results";
    for (const std::string& name : names_in(results)) {
      const std::string behind = name_behind(name);
      if (behind == "pieces.csv" || behind == "settings-table.csv")
        leftover(results / name, textfile::FileKind::file);
    }
  }

  void leftover(const fs::path& path, textfile::FileKind kind) {
    if (kind_of(path) != kind) return;
    if (!repair_) {
      add(path, "a temporary file or folder of a run that was killed", "none",
          repair_command() + " removes it");
      return;
    }
    const InterruptDelay delay;
    const textfile::FileLock lock(folder_);  // a writer may be using it
    std::error_code error;
    fs::remove_all(path, error);
    if (error) throw errors::SystemError(textfile::shown(path), "remove", error.value());
    result_.mended.push_back(textfile::shown(path) + ": removed");
  }

  /// What would be a grid or its grades, but for its number.
  void long_numbers(const fs::path& folder) {
    for (const std::string& name : names_in(folder)) {
      const std::size_t digits = name.find_first_not_of("0123456789");
      if (digits == std::string::npos || digits <= design::kMostGridDigits || name[digits] != '-') continue;
      add(folder / name, "a number of " + std::to_string(digits) + " digits",
          "at most " + std::to_string(design::kMostGridDigits),
          "it is not read; give a grid's folder and its file under results a free number");
    }
  }

  void tail(const textfile::AppendedFile& file) {
    const auto read = textfile::read_appended(file);
    if (!read || !read->tail) return;
    if (textfile::has_utf16_mark(read->text)) return;  // as reading says
    const std::string dropped = errors::quoted(read->tail->dropped);
    if (repair_) {
      const InterruptDelay delay;
      const textfile::TailRepair mended = textfile::append_rows(file, {});
      result_.mended.push_back(textfile::shown(file.path) + (mended.line_end_added
                                                                 ? ": line end added to the last row"
                                                                 : ": cut off a torn row, " + dropped));
    } else if (read->tail->line_end_added) {
      add(file.path, "a last row without its line end", "a line end",
          repair_command() + " adds it, and so does the next row");
    } else {
      add(file.path, "a last row that was cut while it was written, " + dropped, "a whole row",
          repair_command() + " cuts it off, and so does the next row; what it said must be entered again");
    }
  }

  /// What is wrong with a sheet; nothing when it is whole. A graded grid has no more use for its sheets, so
  /// they may be gone.
  std::optional<errors::Fault> sheet_fault(const fs::path& path, bool needed) const {
    const errors::SourcePlace place{textfile::shown(path), 0, 0, ""};
    if (!textfile::exists(path)) {
      if (!needed) return std::nullopt;
      return errors::Fault{place, "no such file", "the grid's sheet", repair_command() + " draws it again"};
    }
    switch (sheet::pdf_shape(textfile::read_file(folder_, path, kMostSheetBytes))) {
      case sheet::PdfShape::whole:
        return std::nullopt;
      case sheet::PdfShape::damaged:
        return errors::Fault{place, "a PDF that was cut", "the whole sheet",
                             repair_command() + " draws it again"};
      case sheet::PdfShape::other:
        return errors::Fault{place, "something that is no PDF", "the grid's sheet",
                             "move it away, then " + repair_command() + " draws the sheet"};
    }
    return std::nullopt;
  }

  /// The recipe for ids and marks rests on earlier grades, as it did when the grid was planned. Nothing where
  /// these can't be read.
  std::optional<GridSheets> drawn_again(const design::Grid& grid) const {
    try {
      return draw_sheets(shop_, grid, surface::read_evidence(shop_));
    } catch (const errors::UserError&) {
      return std::nullopt;
    }
  }

  /// Missing and cut sheets are drawn again from the grids and earlier grades. What is no PDF somebody put
  /// there.
  void sheets(const design::Grid& grid, const design::GridFiles& files, bool needed) {
    std::optional<GridSheets> drawn;
    for (const fs::path& path : {files.burn_pdf, files.run_pdf}) {
      if (textfile::exists(path)) ++result_.files;
      const std::optional<errors::Fault> fault = sheet_fault(path, needed);
      if (!fault) continue;
      const bool mendable =
          !textfile::exists(path) ||
          sheet::pdf_shape(textfile::read_file(folder_, path, kMostSheetBytes)) == sheet::PdfShape::damaged;
      if (!repair_ || !mendable || !grids_sound_) {
        result_.faults.push_back(*fault);
        continue;
      }
      if (!drawn) drawn = drawn_again(grid);
      if (!drawn) {
        result_.faults.push_back(*fault);
        continue;
      }
      const InterruptDelay delay;
      textfile::durable_write(folder_, path, path == files.burn_pdf ? drawn->burn_pdf : drawn->run_pdf);
      result_.mended.push_back(textfile::shown(path) + ": drawn again");
    }
  }

  void grid(const std::string& id) {
    const design::GridFiles files = design::grid_files(shop_, id);
    design::Grid grid;
    const bool sound = look([&] { grid = design::read_grid(shop_, id); });
    grids_sound_ = grids_sound_ && sound;
    if (!sound) return;
    const bool known = names_known(grid, files.grid_toml);
    const textfile::AppendedFile results = grades::grades_layout(shop_, id);
    const bool graded = textfile::exists(results.path);
    if (known) look_again([&] { sheets(grid, files, !graded); });
    if (known) doubtful_plan(grid, files);
    grids_.grids.push_back({grid, {}});
    if (!graded) return;
    look([&] {
      tail(results);
      const std::vector<grades::GradeRow> rows = grades::read_grades(shop_, grid);
      if (rows.empty())
        doubt(results.path, "", "no grades", "those of " + id,
              "if this grid was graded, restore the file from a copy");
      const auto early = grades::early_grades(shop_, grid, rows);
      if (early) result_.doubts.push_back(*early);  // a wrong clock does it too
      const auto late = grades::late_grades(shop_, grid, rows, now_text());
      if (late) result_.doubts.push_back(*late);
    });
  }

  void doubt(const fs::path& path, const std::string& field, const std::string& found,
             const std::string& expected, const std::string& remedy) {
    result_.doubts.push_back({{textfile::shown(path), 0, 0, field}, found, expected, remedy});
  }

  void changed_figures() {
    for (const auto& [what, grids] : changed_)
      doubt(
          shop::shop_file(folder_), what.first, what.second,
          "what " + textfile::joined(grids) + (grids.size() == 1 ? " was" : " were") + " planned with",
          "a figure that was put right counts for earlier grids too; give another tube, lens or bottle a "
          "section with a name of its own, leave the old figures under the old name, and see frostcal carry");
  }

  /// What a grid says that the shop, its folder's name or another grid contradicts.
  void doubtful_plan(const design::Grid& grid, const design::GridFiles& files) {
    const std::string named = grid.id.substr(grid.id.find('-') + 1);
    if (grid.glass != named)
      doubt(files.grid_toml, "glass", errors::quoted(grid.glass), named + ", as the folder says",
            "a grid of another glass must not bear this name; where the glass was renamed, rename the folder "
            "and its file under results too");
    for (const design::ChangedFigure& change : design::changes_since(grid, shop_))
      changed_[{change.of, change.text}].push_back(grid.id);
    shop::Machine machine = shop_.machine(grid.machine);
    machine.dose_limit_j_mm2 = 0;  // may have been lowered since
    std::vector<std::string> impossible;
    for (const design::Swatch& swatch : grid.swatches) {
      if (!shop::accepts(machine, swatch.setting)) impossible.push_back(swatch.id);
    }
    if (!impossible.empty())
      doubt(files.swatches_csv, grid.machine,
            textfile::counted(static_cast<long>(impossible.size()), "swatch", "swatches") + " such as " +
                impossible.front() + " at " + shop::to_text(grid.find(impossible.front())->setting),
            "settings that it accepts by shop.toml",
            "if it was burned on another machine or before shop.toml changed, leave it; else correct "
            "shop.toml");
    for (const surface::GradedGrid& other : grids_.grids) {
      if (const auto both = design::overlapping(grid, other.grid)) {
        doubt(
            files.swatches_csv, both->bottle, both->id + " where " + other.grid.id + " has a swatch already",
            "a place of its own",
            "if this grid is a copy, move its folder and its file under results out of the shop: its grades "
            "would count twice");
        break;
      }
    }
  }

  bool names_known(const design::Grid& grid, const fs::path& file) {
    const std::size_t before = result_.faults.size();
    const auto one = [&](const std::string& field, const std::string& name, const auto& things) {
      std::vector<std::string> known;
      for (const auto& thing : things) known.push_back(thing.name);
      if (std::find(known.begin(), known.end(), name) != known.end()) return;
      const std::string near = errors::nearest(name, known);
      result_.faults.push_back({{textfile::shown(file), 0, 0, field},
                                errors::quoted(name),
                                "a " + field + " of grids/shop.toml",
                                near.empty() ? "" : "was it renamed to " + near + "?"});
    };
    one("glass", grid.glass, shop_.glasses);
    one("machine", grid.machine, shop_.machines);
    one("vessel", grid.vessel, shop_.vessels);
    return result_.faults.size() == before;
  }

  void shared_numbers(const std::vector<std::string>& ids) {
    for (std::size_t i = 1; i < ids.size(); ++i) {
      const int number = design::number_of(ids[i]);
      if (number != design::number_of(ids[i - 1])) continue;
      add(folder_ / "grids" / ids[i],
          "number " + std::to_string(number) + ", which " + ids[i - 1] + " has too", "a number of its own",
          "if one is a copy, move its folder and its file under results out of the shop; else give this "
          "folder and that file a free number, and then " +
              shop::command_for(folder_, "sheet GRID") + " draws its sheets with it");
    }
  }

  /// Bottles that shop.toml calls broken are bottles of a grid.
  void broken_bottles() {
    if (!grids_sound_) return;
    for (const shop::Glass& glass : shop_.glasses) {
      std::set<std::string> known;
      for (const surface::GradedGrid& graded : grids_.grids) {
        if (graded.grid.glass != glass.name) continue;
        for (const std::string& bottle : graded.grid.bottles()) known.insert(bottle);
      }
      for (const std::string& bottle : glass.broken) {
        if (known.count(bottle) != 0) continue;
        const std::string near = errors::nearest(bottle, {known.begin(), known.end()});
        result_.doubts.push_back({{textfile::shown(shop::shop_file(folder_)), 0, 0, "broken"},
                                  errors::quoted(bottle),
                                  "a bottle of a grid of " + glass.name,
                                  near.empty() ? "take it out of the list" : "did you mean " + near + "?"});
      }
    }
  }

  /// Grades whose grid is gone.
  void stray_results(const std::vector<std::string>& ids) {
    for (const std::string& id : design::graded_ids(shop_)) {
      if (std::find(ids.begin(), ids.end(), id) != ids.end()) continue;
      // A folder of another number may be a grid that was planned anew: these grades must not be given to it.
      std::vector<std::string> alike;
      std::copy_if(ids.begin(), ids.end(), std::back_inserter(alike), [&](const std::string& other) {
        return design::number_of(other) == design::number_of(id);
      });
      const std::string near = errors::nearest(id, alike);
      add(grades::grades_layout(shop_, id).path, "grades of a grid that is not there",
          "a grid " + id + " under grids/",
          near.empty() ? "restore its folder from a copy, or move these grades out of the shop"
                       : "was its folder renamed to " + near + "?");
    }
  }

  /// The grades that a setting in force rests on are still there.
  void evidence(const table::SettingsRow& row) {
    for (const std::string& id : row.grids) {
      const fs::path path = grades::grades_layout(shop_, id).path;
      textfile::FileStatus status;
      const int known = textfile::real_file_system().link_status(path.string(), status);
      if (known < 0 && known != -ENOENT)
        throw errors::SystemError(textfile::shown(path), "look at it", -known);
      const bool is_link = status.kind == textfile::FileKind::link;  // where it leads is read with its grid
      const bool is_file = status.kind == textfile::FileKind::file;
      if (known == 0 && (is_link || (is_file && status.size > 0))) continue;
      add(path,
          known < 0 ? "no such file"
          : is_file ? "an empty file"
                    : "something that is not a file",
          "the grades that the setting in force for " + row.glass + " rests on",
          "restore it from a copy, or grade those bottles again");
    }
  }

  /// The machine can still be set to it.
  void dials(const table::SettingsRow& row) {
    const shop::Machine* machine = shop_.find_machine(row.machine);
    if (machine == nullptr || shop::accepts(*machine, row.setting)) return;
    result_.doubts.push_back({{textfile::shown(table::table_file(shop_)), 0, 0, row.glass},
                              shop::to_text(row.setting) + " in force",
                              "a setting that " + row.machine + " accepts by shop.toml",
                              "plan a grid and adopt another, or correct shop.toml"});
  }

  /// Pieces and cured faults that the history names are still there.
  void lost_log(const std::vector<table::HistoryRow>& history) {
    if (!logged_) return;
    const std::string back = "bring the file back from a copy; if rows were deleted as slips, ";
    const auto anew = [&](const table::SettingsRow& row) {
      return table::renewal_command(shop_, row) + " --reason TEXT judges the setting anew";
    };
    const auto named = [](const table::HistoryRow& row) {
      return " on line " + std::to_string(row.line) + " of settings-history.csv";
    };
    for (const table::LostPieces& lost : table::lost_pieces(history, logged_->all)) {
      const table::SettingsRow& row = lost.row.row;
      doubt(grades::pieces_layout(shop_).path, "",
            (lost.left == 0 ? "no piece" : textfile::counted(lost.left, "piece", "pieces")) + " of " +
                row.glass + " on " + row.machine + " logged until " + row.adopted_at,
            "the " + std::to_string(lost.counted) + " that were counted" + named(lost.row), back + anew(row));
    }
    for (const table::HistoryRow& lost : table::lost_cures(history, logged_->cured)) {
      doubt(grades::cured_layout(shop_).path, "", "no such cured fault of " + lost.row.machine,
            "the one that is named" + named(lost) + ", " + errors::quoted(lost.row.reason),
            back + anew(lost.row));
    }
  }

  struct TimedRow {
    std::string time;
    int line;
  };

  /// Rows are added at the end, so one that is older than a row above it was written by another clock. A
  /// minute is two people at once, and a day without a time may be any time of it.
  void back_in_time(const fs::path& path, const std::string& column, const std::vector<TimedRow>& rows,
                    const std::string& remedy) {
    constexpr std::int64_t kMinute = 60;
    std::string latest;
    const TimedRow* first = nullptr;
    std::string before;
    int more = -1;
    for (const TimedRow& row : rows) {
      const bool same_day = textfile::is_bare_day(row.time) && row.time.substr(0, 10) == latest.substr(0, 10);
      const auto now = textfile::utc_seconds(row.time);
      const auto then = textfile::utc_seconds(latest);
      if (now && then && *now + kMinute < *then && !same_day) {
        if (first == nullptr) before = latest;
        if (first == nullptr) first = &row;
        ++more;
      }
      latest = std::max(latest, row.time);
    }
    if (first == nullptr) return;
    result_.doubts.push_back(
        {{textfile::shown(path), first->line, 0, column},
         first->time +
             (more > 0 ? " (and " + textfile::counted(more, "later row", "later rows") + " like it)" : ""),
         "a time after " + before + " of a row above it",
         remedy});
  }

  /// The history is the truth; the table follows from it.
  void settings() {
    const textfile::AppendedFile file = table::history_layout(shop_);
    if (textfile::exists(file.path)) {
      const bool sound = look([&] {
        tail(file);
        const std::vector<table::HistoryRow> history = table::read_history(shop_);
        std::vector<TimedRow> times;
        for (const table::HistoryRow& row : history) times.push_back({row.row.adopted_at, row.line});
        back_in_time(file.path, "adopted_at", times,
                     "a clock was wrong: adopt again what matters, so that a row of today holds");
        for (const table::SettingsRow& row : table::in_force(history)) {
          evidence(row);
          dials(row);
        }
        lost_log(history);
      });
      if (!sound) return;
    } else if (!textfile::exists(table::table_file(shop_))) {
      return;
    }
    look([&] {
      if (table::table_is_current(shop_)) return;
      const fs::path path = table::table_file(shop_);
      if (const auto lost = table::lost_rows(shop_, table::read_history(shop_))) {
        // Made anew, the table would lose the only sign that rows are missing.
        result_.faults.push_back(*lost);
      } else if (repair_) {
        const InterruptDelay delay;
        table::rewrite_table(shop_);
        result_.mended.push_back(textfile::shown(path) + ": made anew from the history");
      } else {
        add(path, "rows that do not follow from settings-history.csv", "the setting in force of each glass",
            repair_command() + " makes it anew; the history is the truth");
      }
    });
  }

  void pieces() {
    const textfile::AppendedFile file = grades::pieces_layout(shop_);
    std::vector<grades::PieceRow> pieces;
    const bool sound = !textfile::exists(file.path) || look([&] {
      tail(file);
      emptied(file.path, "pieces");
      pieces = grades::read_pieces(shop_);
      std::vector<TimedRow> times;
      for (const grades::PieceRow& piece : pieces) times.push_back({piece.logged_at, piece.line});
      back_in_time(file.path, "logged_at", times,
                   "if a clock was wrong, correct the time there: pieces of before an adoption don't count "
                   "against it");
    });
    const std::optional<std::vector<grades::CuredFault>> faults = cured();
    if (!sound || !faults) return;
    for (const grades::CuredFault& fault : *faults) sets_aside(fault, pieces);
    logged_ = grades::sort_pieces(std::move(pieces), *faults);
  }

  /// Nothing where the file can't be read.
  std::optional<std::vector<grades::CuredFault>> cured() {
    const textfile::AppendedFile file = grades::cured_layout(shop_);
    std::vector<grades::CuredFault> faults;
    const bool sound = !textfile::exists(file.path) || look([&] {
      tail(file);
      emptied(file.path, "cured faults");
      faults = grades::read_cured(shop_);
    });
    return sound ? std::optional(faults) : std::nullopt;
  }

  /// What a write that was refused leaves, and other mishaps; rows that somebody deleted leave the header.
  void emptied(const fs::path& path, const std::string& rows) {
    std::error_code error;
    if (fs::file_size(path, error) != 0 || error) return;
    doubt(path, "", "an empty file", "a header row, and " + rows + " if any were recorded",
          "bring the file back from a copy; if there were none, delete it");
  }

  void sets_aside(const grades::CuredFault& fault, const std::vector<grades::PieceRow>& pieces) {
    const bool any = std::any_of(pieces.begin(), pieces.end(), [&](const grades::PieceRow& piece) {
      return grades::covers(fault, piece.machine, piece.logged_at);
    });
    if (any) return;
    result_.doubts.push_back(
        {{textfile::shown(grades::cured_layout(shop_).path), fault.line, 0, ""},
         "a cured fault of " + fault.machine + " that sets no piece aside",
         "pieces logged on that machine from " + fault.since + " to " + fault.recorded_at,
         "if pieces.csv lost rows, bring it back from a copy; else correct this row, or "
         "delete it"});
  }

  fs::path folder_;
  bool repair_;
  ShopCheck& result_;
  shop::Shop shop_;
  surface::ShopEvidence grids_;  // those read so far, without grades
  std::map<std::pair<std::string, std::string>, std::vector<std::string>>
      changed_;  // machine or vessel, change: grids
  bool grids_sound_ = true;
  std::optional<grades::LoggedPieces> logged_;  // nothing when a file of them can't be read
};

}  // namespace

ShopCheck check_shop(const fs::path& folder, bool repair) {
  ShopCheck result;
  Checker(folder, repair, result).run();
  return result;
}

}  // namespace frostcal::cli
