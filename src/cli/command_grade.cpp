#include <algorithm>
#include <istream>
#include <iterator>
#include <map>
#include <ostream>
#include <set>

#include "cli/commands.hpp"
#include "cli/message.hpp"
#include "cli/output_file.hpp"
#include "cli/shop_reading.hpp"
#include "cli/terminal.hpp"
#include "cli/text_option.hpp"
#include "design/grid_file.hpp"
#include "design/grid_shop.hpp"
#include "errors/ascii.hpp"
#include "errors/system_error.hpp"
#include "errors/user_error.hpp"
#include "grades/grade_entry.hpp"
#include "grades/grade_file.hpp"
#include "grades/grade_import.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/free_text.hpp"
#include "textfile/open_file.hpp"
#include "textfile/phrases.hpp"
#include "textfile/read_file.hpp"
#include "textfile/shell_word.hpp"

namespace frostcal::cli {

namespace {

struct Sitting {
  shop::Shop shop;
  design::Grid grid;
};

std::vector<grades::GradeRow> rows_of(const Sitting& sitting) {
  return grades::read_grades(sitting.shop, sitting.grid);
}

std::size_t graded_by(const Sitting& sitting, const std::vector<grades::GradeRow>& rows,
                      const std::string& grader) {
  std::size_t count = 0;
  for (const grades::SwatchGrade& grade : grades::effective_grades(sitting.grid, rows)) {
    if (grade.grader == grader) ++count;
  }
  return count;
}

ExitStatus write_form(const Sitting& sitting, const std::string& file, const Streams& streams) {
  const std::string form = grades::grade_form(sitting.grid);
  if (file == "-") {
    streams.out << form;
    return ExitStatus::done;
  }
  refuse_shop_file(file);
  if (textfile::exists(file)) {
    throw errors::UserError(errors::Fault{
        {file, 0, 0, ""}, "a file that is already there", "a new file", "name another file or move it away"});
  }
  const InterruptDelay delay;
  textfile::durable_write_anywhere(file, form);
  tell(streams, "Wrote " + file + ": fill in frost and chipping, then\n  " +
                    shop::command_for(sitting.shop, "grade " + sitting.grid.id + " --from " +
                                                        textfile::shell_word(file) + " --grader NAME") +
                    '\n');
  return ExitStatus::done;
}

/// Standard input to its end, bounded like a file.
std::string read_all(std::istream& in) {
  std::string text;
  char block[4096];
  while (in.read(block, sizeof block) || in.gcount() > 0) {
    text.append(block, static_cast<std::size_t>(in.gcount()));
    if (text.size() > textfile::kMaxCsvBytes) {
      throw errors::UserError(errors::Fault{{"standard input", 0, 0, ""},
                                            "more than " + std::to_string(textfile::kMaxCsvBytes) + " bytes",
                                            "a file of grades",
                                            ""});
    }
  }
  return text;
}

/// What became of rows that are not new: handing a file in twice is easily done.
std::string repeated_text(const Sitting& sitting, const grades::ImportChange& change, std::size_t in_file) {
  std::string text;
  if (change.same == static_cast<int>(in_file)) {
    text = std::string(in_file == 1 ? "It was" : "All were") + " graded so before by the same person" +
           (change.rows.empty() ? ": nothing changed.\n" : ".\n");
  } else if (change.same + change.replaced > 0) {
    text = std::to_string(change.replaced) + " of them replace earlier grades by the same person; " +
           std::to_string(change.same) + " in the file were the same before.\n";
  }
  if (!change.later_looks.empty()) {
    text += "A later look saw more chipping than the file says at " + textfile::joined(change.later_looks) +
            ", and the worse look stays. To correct it, type both grades:  " +
            shop::command_for(sitting.shop, "grade " + sitting.grid.id + " --again") + '\n';
  }
  return text;
}

/// A grid with the rows of its grades.
struct GridWithRows {
  design::Grid grid;
  std::vector<grades::GradeRow> rows;
};

/// Nothing where the grid or its grades can't be read: `check` names it, and the others go on.
std::optional<GridWithRows> readable_grid(const shop::Shop& shop, const std::string& id) {
  try {
    const design::Grid grid = design::read_grid(shop, id);
    return GridWithRows{grid, grades::read_grades(shop, grid)};
  } catch (const errors::UserError&) {
    return std::nullopt;
  } catch (const errors::SystemError&) {
    return std::nullopt;
  }
}

/// In how many grids each name has graded.
std::map<std::string, int> grids_by_grader(const shop::Shop& shop) {
  std::map<std::string, int> grids;
  for (const std::string& id : design::grid_ids(shop)) {
    const std::optional<GridWithRows> read = readable_grid(shop, id);
    if (!read) continue;
    std::set<std::string> graders;
    for (const grades::GradeRow& row : read->rows) graders.insert(row.grader);
    for (const std::string& name : graders) ++grids[name];
  }
  return grids;
}

/// Names count as they are spelled; one that is nearly another is most likely a slip, until it has graded in
/// two grids.
void warn_of_near_grader(const Sitting& sitting, const std::set<std::string>& graders,
                         const Streams& streams) {
  const std::map<std::string, int> grids = grids_by_grader(sitting.shop);
  for (const std::string& grader : graders) {
    const auto own = grids.find(grader);
    if (own != grids.end() && own->second > 1) continue;
    std::vector<std::string> others;
    for (const auto& [name, count] : grids) {
      if (name != grader) others.push_back(name);
    }
    const std::string near = errors::nearest(grader, others);
    if (near.empty()) continue;
    tell(streams, "Grader " + errors::quoted(grader) +
                      (own == grids.end() ? " is new" : " has graded in one grid") + "; there is a grader " +
                      errors::quoted(near) +
                      ". For the same person use the same name: each name counts as a grader of its own.\n");
  }
}

/// The file's own names come before --grader, which is for the rows without one.
void say_whose(const std::vector<grades::GradeRow>& rows, const std::string& grader, const Streams& streams) {
  std::map<std::string, int> others;
  if (grader.empty()) return;
  for (const grades::GradeRow& row : rows) {
    if (row.grader != grader) ++others[row.grader];
  }
  std::vector<std::string> named;
  named.reserve(others.size());
  for (const auto& [name, count] : others) named.push_back(name + " for " + std::to_string(count));
  if (named.empty()) return;
  tell(streams, "Of the " + std::to_string(rows.size()) + " grades the file itself names " +
                    textfile::joined(named) + ": they are recorded so, and --grader " + grader +
                    " counts for the others.\n");
}

ExitStatus import_file(const Sitting& sitting, const std::string& file, const std::string& grader,
                       const Streams& streams) {
  const bool piped = file == "-";
  const std::string text = piped ? read_all(streams.in) : textfile::read_file({}, file);
  const std::vector<grades::GradeRow> rows =
      grades::parse_grade_import(text, piped ? "standard input" : file, sitting.grid, {grader, now_text()});
  std::vector<grades::GradeRow> all = rows_of(sitting);
  std::set<std::string> graders;
  for (const grades::GradeRow& row : rows) graders.insert(row.grader);
  warn_of_near_grader(sitting, graders, streams);
  say_whose(rows, grader, streams);
  if (auto early = grades::early_grades(sitting.shop, sitting.grid, rows)) {
    early->place.file = piped ? "standard input" : file;
    tell(streams, errors::to_text(*early) + " (doubtful, but taken)\n");
  }
  const grades::ImportChange change = grades::change_by_import(sitting.grid, all, rows);
  if (!change.rows.empty()) {
    const InterruptDelay delay;
    tell_dropped(streams, grades::grades_layout(sitting.shop, sitting.grid.id),
                 grades::append_grades(sitting.shop, sitting.grid, change.rows));
  }
  all.insert(all.end(), change.rows.begin(), change.rows.end());
  streams.out << sitting.grid.id << ": recorded " << textfile::counted(change.graded, "grade", "grades")
              << "; ";
  std::vector<std::string> counts;
  for (const std::string& by : graders) {
    counts.push_back(std::to_string(graded_by(sitting, all, by)) + " of " +
                     std::to_string(sitting.grid.swatches.size()) + " graded by " + by);
  }
  streams.out << textfile::joined(counts) << ".\n" << repeated_text(sitting, change, rows.size());
  return ExitStatus::done;
}

/// "C3 on amber-jug-1 (grid 0007-amber-jug)": the latest swatch of an earlier grid, of the same glass on the
/// same machine, that stands at the setting of this grid's reference swatch; empty when there is none.
std::string earlier_reference(const Sitting& sitting) {
  const design::Swatch* reference = design::reference_swatch(sitting.grid);
  if (reference == nullptr) return "";
  std::vector<std::string> ids = design::grid_ids(sitting.shop);
  ids.erase(std::find(ids.begin(), ids.end(), sitting.grid.id), ids.end());  // later ones too
  const auto is_gone = [&](const std::string& bottle) {
    return std::any_of(sitting.shop.glasses.begin(), sitting.shop.glasses.end(),
                       [&](const shop::Glass& glass) {
                         return glass.name == sitting.grid.glass && glass.is_broken(bottle);
                       });
  };
  for (auto id = ids.rbegin(); id != ids.rend(); ++id) {
    const std::optional<GridWithRows> read = readable_grid(sitting.shop, *id);
    if (!read) continue;
    const design::Grid& grid = read->grid;
    if (grid.glass != sitting.grid.glass || grid.machine != sitting.grid.machine) continue;
    const auto earlier = std::find_if(
        grid.swatches.begin(), grid.swatches.end(),
        [&](const design::Swatch& swatch) { return shop::same_setting(swatch.setting, reference->setting); });
    if (earlier == grid.swatches.end() || is_gone(earlier->bottle)) continue;
    return earlier->id + " on " + earlier->bottle + " (grid " + grid.id + ")";
  }
  return "";
}

/// Nothing where the option is not given.
std::optional<std::string> given_grader(const Arguments& arguments) {
  if (!arguments.has("grader")) return std::nullopt;
  const std::string name = kept_text(arguments.text("grader"), "--grader", textfile::kLongestName);
  if (name.empty()) throw UsageError("--grader: found an empty name, expected who grades");
  return name;
}

std::string ask_grader(const Arguments& arguments, const Streams& streams) {
  if (const auto given = given_grader(arguments)) return *given;
  if (!is_typed(streams)) throw UsageError("--grader NAME is missing: who grades?");
  std::string name;
  while (errors::trimmed(name).empty()) {
    streams.out << "Who grades? " << std::flush;
    if (!std::getline(streams.in, name)) throw UsageError("--grader NAME is missing: who grades?");
  }
  return kept_text(name, "the grader's name", textfile::kLongestName);
}

/// One line at a time: each grade is on the disk before its echo and the next prompt. False when a piped line
/// was refused. Before asking and before taking a line it looks at what is on the disk: another terminal may
/// grade under the same name.
bool enter_lines(const Sitting& sitting, grades::GradeEntry& entry, const InterruptWatch& watch,
                 const Streams& streams) {
  const bool typed = is_typed(streams);
  std::string line;
  const auto refuse_piped = [&](int number, const std::string& why) {
    tell(streams, "standard input:" + std::to_string(number) + ": " + why + std::to_string(number - 1) +
                      (number == 2 ? " line was" : " lines were") + " taken.\n");
    return false;
  };
  for (int number = 1; !entry.finished(); ++number) {
    if (typed) {
      const std::string meanwhile = entry.refresh(rows_of(sitting), false).text;
      streams.out << meanwhile << entry.prompt() << std::flush;
    }
    if (!std::getline(streams.in, line) || watch.interrupted()) {
      if (typed) streams.out << '\n';
      return true;
    }
    const grades::GradeEntry::Meanwhile meanwhile = entry.refresh(rows_of(sitting), true);
    if (!meanwhile.text.empty() && !typed) return refuse_piped(number, meanwhile.text);
    streams.out << meanwhile.text;
    if (meanwhile.here && errors::trimmed(line) != "q") {
      streams.out << "what was typed for it is not taken"
                  << (meanwhile.gone ? "\n" : "; type it again to replace that grade, s skips\n");
      drop_typed_ahead(streams);
      continue;
    }
    const grades::GradeEntry::Step step = entry.take(line, now_text());
    if (!step.rows.empty()) {
      tell_dropped(streams, grades::grades_layout(sitting.shop, sitting.grid.id),
                   grades::append_grades(sitting.shop, sitting.grid, step.rows));
      entry.saved();
    }
    if (step.refused && !typed) return refuse_piped(number, step.text);
    streams.out << step.text << std::flush;
    if (step.refused) drop_typed_ahead(streams);  // what was pasted after it belongs to other swatches
  }
  return true;
}

ExitStatus enter_grades(const Sitting& sitting, const Arguments& arguments, const Streams& streams) {
  const std::string grader = ask_grader(arguments, streams);
  warn_of_near_grader(sitting, {grader}, streams);
  const bool again = arguments.has("again");
  grades::GradeEntry entry(sitting.grid, sitting.shop.scale, rows_of(sitting),
                           {grader, again, earlier_reference(sitting),
                            design::machine_as_planned(sitting.shop, sitting.grid).rotary.neck});
  if (is_typed(streams)) streams.out << entry.greeting();
  if (entry.total() == 0) {
    tell(streams, entry.greeting());
    return ExitStatus::no;
  }
  const InterruptWatch watch;
  const bool understood = enter_lines(sitting, entry, watch, streams);
  (void)entry.refresh(rows_of(sitting), true);
  const std::size_t done = entry.total() - entry.left();
  if (watch.interrupted()) streams.out.clear();      // Ctrl-C may have cut the prompt short
  if (entry.total() == 0 && !watch.interrupted()) {  // withdrawn meanwhile
    tell(streams, entry.greeting());
    return understood ? ExitStatus::no : ExitStatus::trouble;
  }
  streams.out << sitting.grid.id << ": " << done << " of " << entry.total()
              << (again ? " looked at again by " : " graded by ") << grader;
  if (entry.left() > 0) {
    streams.out << "; go on with: "
                << shop::command_for(sitting.shop, "grade " + sitting.grid.id + (again ? " --again" : "") +
                                                       " --grader " + textfile::shell_word(grader))
                << '\n';
  } else {
    streams.out << ". Next: " << shop::command_for(sitting.shop, "fit " + sitting.grid.glass) << '\n';
  }
  streams.out.flush();
  if (watch.interrupted()) watch.die();
  if (!understood) return ExitStatus::trouble;
  return entry.left() == 0 ? ExitStatus::done : ExitStatus::no;
}

/// Appends rows that take back; what was graded stays in the file above them.
ExitStatus withdraw(const Sitting& sitting, const Arguments& arguments, const Streams& streams) {
  const std::optional<std::string> grader = given_grader(arguments);
  if (!grader) throw UsageError("--grader NAME is missing: whose grades are withdrawn?");
  const std::string file = textfile::shown(grades::grades_layout(sitting.shop, sitting.grid.id).path);
  std::vector<grades::GradeRow> rows;
  std::set<std::string> graders;
  const std::string now = now_text();
  for (const grades::SwatchGrade& grade : grades::effective_grades(sitting.grid, rows_of(sitting))) {
    graders.insert(grade.grader);
    if (grade.grader != *grader) continue;
    rows.push_back(
        {grade.swatch, std::nullopt, std::nullopt, std::string(grades::kTakenBack), *grader, now, 0});
  }
  if (rows.empty()) {
    const std::vector<std::string> names(graders.begin(), graders.end());
    const std::string near = errors::nearest(*grader, names);
    throw errors::UserError(
        errors::Fault{{file, 0, 0, "grader"},
                      "no grades of " + errors::quoted(*grader),
                      names.empty() ? "grades of somebody" : "one of " + textfile::joined(names),
                      near.empty() ? "" : "did you mean " + near + "?"});
  }
  const InterruptDelay delay;
  tell_dropped(streams, grades::grades_layout(sitting.shop, sitting.grid.id),
               grades::append_grades(sitting.shop, sitting.grid, rows));
  show(streams, sitting.grid.id + ": withdrew " +
                    textfile::counted(static_cast<int>(rows.size()), "grade", "grades") + " of " + *grader +
                    ", which no longer count; " + file + " keeps them, and when they were withdrawn.\n");
  return ExitStatus::done;
}

/// The grids with swatches that nobody, or not `grader`, has graded. A grid that can't be read is passed
/// over.
ExitStatus list_waiting(const shop::Shop& shop, const std::optional<std::string>& grader,
                        const Streams& streams) {
  std::string first;
  for (const std::string& id : design::grid_ids(shop)) {
    const std::optional<GridWithRows> read = readable_grid(shop, id);
    if (!read) {
      tell(streams, id + " can't be read:  " + shop::command_for(shop, "check") + '\n');
      continue;
    }
    std::set<std::string> graded;
    for (const grades::SwatchGrade& grade : grades::effective_grades(read->grid, read->rows)) {
      if (!grader || grade.grader == *grader) graded.insert(grade.swatch);
    }
    if (graded.size() == read->grid.swatches.size()) continue;
    if (first.empty()) streams.out << "These grids wait for grades:\n";
    if (first.empty()) first = id;
    streams.out << "  " << id << ": " << graded.size() << " of " << read->grid.swatches.size() << " graded"
                << (grader ? " by " + *grader : "") << '\n';
  }
  if (first.empty()) {
    streams.out << "No grid waits for grades" << (grader ? " of " + *grader : "") << ".\n";
    return ExitStatus::done;
  }
  streams.out << "To grade the first:  " << shop::command_for(shop, "grade " + first) << '\n';
  return ExitStatus::no;
}

ExitStatus run_grade(const Arguments& arguments, const Streams& streams) {
  const int ways =
      arguments.has("from") + arguments.has("form") + arguments.has("again") + arguments.has("withdraw");
  if (ways > 1) {
    throw UsageError("--from, --form, --again and --withdraw do not go together; give one of them");
  }
  Sitting sitting;
  sitting.shop = shop::read_shop(arguments.shop);
  if (arguments.operands.empty()) {
    if (ways == 1)
      throw UsageError("GRID is missing: frostcal grade GRID; without it the waiting grids are listed");
    return list_waiting(sitting.shop, given_grader(arguments), streams);
  }
  sitting.grid =
      design::read_grid(sitting.shop, design::resolve_grid_id(sitting.shop, arguments.operands.at(0)));
  if (const auto form = arguments.find("form")) return write_form(sitting, *form, streams);
  (void)time_after_rows(sitting.shop);
  if (arguments.has("withdraw")) return withdraw(sitting, arguments, streams);
  if (const auto file = arguments.find("from")) {
    return import_file(sitting, *file, given_grader(arguments).value_or(""), streams);
  }
  return enter_grades(sitting, arguments, streams);
}

}  // namespace

Command grade_command() {
  return {
      "grade",
      "[GRID]",
      0,
      1,
      "enter grades swatch by swatch, or from a file",
      "Shows where each swatch of GRID is and takes one short line for it: frost 0 to 5 and chipping 0 to 3, "
      "such as 4 0. The setting is hidden so that it cannot influence the grade. Each grade is on the disk "
      "before the next prompt appears; stop at any time with q or Ctrl-C and go on later with the same "
      "command. GRID is the grid's id or its number; without it, the grids are named that wait for "
      "grades.\n\n"
      "In place of grades: u takes back the last one, s skips, n TEXT adds a note, B7 goes to swatch B7, m "
      "shows the map, ? the words of the grades; - stands for a grade that cannot be given.\n\n"
      "Chips are reported to appear up to a day after the burn. --again offers a second look: an empty line "
      "means as it was, one number is the chipping now, and the worse chipping counts. Type both grades to "
      "correct one. Each look is kept with its time, as it was too, and is no grade of its own: the fit "
      "counts "
      "a swatch once for each grader. A look that was stopped goes on, on another day too, with the swatches "
      "that it has not seen; once it has seen all, --again begins a further look at all of them.\n\n"
      "When standard input is not a terminal, its lines are taken in the same way, without prompts, up to "
      "the first one that is not understood.\n\n"
      "--from takes a CSV file with the columns swatch, frost and chipping (note, grader and graded_at if "
      "there are any) as a spreadsheet saves it, all of it or, when anything is wrong, nothing. - stands for "
      "a grade "
      "that cannot be given there, too; a row without grades and note is not graded yet. graded_at is "
      "a day such as 2026-11-25 or a time such as 2026-11-25T11:14:05Z; empty means now. Chipping that a "
      "later "
      "look saw is not lowered by a file. --grader is for the rows that name no grader.\n\n"
      "--withdraw takes back all that NAME graded in GRID: it no longer counts, and its rows stay in the "
      "file.\n\n"
      "Exit status: 0 all are graded, or the file was taken; 1 some are left, or grids wait; 2 trouble.",
      {{"grader", "NAME", "who grades", false},
       {"again", "", "a second look at what NAME has graded", false},
       {"from", "FILE", "take the grades of a CSV file; - for standard input", false},
       {"withdraw", "", "take back all that NAME has graded in GRID", false},
       {"form", "FILE", "write an empty CSV form to fill in; - for standard output", false}},
      run_grade};
}

}  // namespace frostcal::cli
