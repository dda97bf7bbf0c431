#include "grades/grade_entry.hpp"

#include <algorithm>
#include <iterator>
#include <string_view>
#include <utility>

#include "errors/ascii.hpp"
#include "errors/bug.hpp"
#include "errors/user_error.hpp"
#include "grades/grade_cells.hpp"
#include "grades/grade_file.hpp"
#include "textfile/free_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::grades {

namespace {

std::string trimmed(std::string_view text) {
  return std::string(errors::trimmed(text));
}

/// "4 0", "4,0", "4 / 0": the parts before and after the first separator; one part when there is none.
std::vector<std::string> split_numbers(const std::string& line) {
  const std::size_t separator = line.find_first_of(" \t,/");
  if (separator == std::string::npos) return {line};
  std::string rest = trimmed(line.substr(separator));
  if (!rest.empty() && (rest[0] == ',' || rest[0] == '/')) rest = trimmed(rest.substr(1));
  return {line.substr(0, separator), rest};
}

/// A letter and digits, as swatches are named.
bool looks_like_swatch(const std::string& line) {
  return line.size() >= 2 && errors::is_letter(line[0]) &&
         std::all_of(line.begin() + 1, line.end(), errors::is_digit);
}

std::string grade_text(const std::optional<int>& grade) {
  return grade ? std::to_string(*grade) : "-";
}

std::string outcome(const std::string& swatch, const std::optional<int>& frost,
                    const std::optional<int>& chipping) {
  return swatch + ": frost " + grade_text(frost) + ", chipping " + grade_text(chipping);
}

/// "4" gives 4, "-" gives an empty grade; anything else, or a grade out of range, gives false.
bool read_grade(const std::string& text, int grades, std::optional<int>& grade) {
  if (text == "-") {
    grade = std::nullopt;
    return true;
  }
  if (text.size() != 1 || !errors::is_digit(text[0])) return false;
  grade = text[0] - '0';
  return *grade < grades;
}

std::string ordinal(int number) {
  return number == 2 ? "Second" : number == 3 ? "Third" : "Further";
}

}  // namespace

GradeEntry::GradeEntry(const design::Grid& grid, const shop::GradeScale& scale,
                       const std::vector<GradeRow>& rows, const Options& options)
    : grid_(grid), scale_(scale), options_(options), places_(grid, options_.neck) {
  FROSTCAL_ASSERT(!options_.grader.empty(), "a grader");
  for (const GradeRow& row : rows) {
    if (row.grader == options_.grader) rows_.push_back(row);
  }
  count();
  round_ = look_round(rows_);
  if (!round_.complete) looked_at_ = round_.looked_at;
  for (const std::size_t i : design::grading_order(grid_)) {
    if (!options_.again || grades_.count(grid_.swatches[i].id) != 0) order_.push_back(i);
  }
  at_end_ = left() == 0;
  if (!at_end_ && is_done(position_)) go_to_next();
}

void GradeEntry::count() {
  grades_.clear();
  for (const SwatchGrade& grade : effective_grades(grid_, rows_)) grades_[grade.swatch] = grade;
}

bool GradeEntry::is_done(std::size_t position) const {
  const std::string& id = swatch(position).id;
  return options_.again ? looked_at_.count(id) != 0 : grades_.count(id) != 0;
}

const SwatchGrade* GradeEntry::grade_of(std::size_t position) const {
  const auto found = grades_.find(swatch(position).id);
  return found == grades_.end() ? nullptr : &found->second;
}

std::size_t GradeEntry::left() const {
  std::size_t count = 0;
  for (std::size_t i = 0; i < order_.size(); ++i) count += is_done(i) ? 0 : 1;
  return count;
}

/// To the next swatch that is not done, round the end to those that were skipped.
void GradeEntry::go_to_next() {
  for (std::size_t step = 1; step <= order_.size(); ++step) {
    const std::size_t candidate = (position_ + step) % order_.size();
    if (is_done(candidate)) continue;
    position_ = candidate;
    at_end_ = false;
    return;
  }
  at_end_ = true;
}

std::string GradeEntry::greeting() const {
  if (order_.empty()) {
    return options_.again ? "Nothing of " + options_.grader + " to look at again.\n" : "No swatches.\n";
  }
  std::string text;
  if (options_.again) {
    const int number = round_.number + (round_.complete ? 1 : 0);
    text = ordinal(number) + " look at " + std::to_string(total()) +
           (total() == 1 ? " swatch of " : " swatches of ") + grid_.id + " by " + options_.grader;
    const std::string day = round_.last.substr(0, 10);
    if (round_.complete) {
      text += "; the one before it ended on " + day;
    } else if (!looked_at_.empty()) {
      text += ", " + std::to_string(total() - left()) + " of them seen by " + day;
    }
    text += round_.last.empty() ? ". " : ".\n";
    text += "Enter: as it was. One number: chipping now.\n";
  } else {
    text = grid_.id + ": " + std::to_string(total() - left()) + " of " + std::to_string(total()) +
           " graded by " + options_.grader + ". Type frost and chipping, such as 4 0.\n";
  }
  if (swatch(position_).role == design::Role::reference && left() == total()) {
    text +=
        "The reference swatch comes first: settle on its grade with "
        "whoever grades\nbesides you, and measure the others by it.";
    if (!options_.earlier_reference.empty()) text += " Hold beside it " + options_.earlier_reference + '.';
    text += '\n';
  }
  return text +
         "u takes back, s skips, n adds a note, B7 goes to B7, m map, ? words of the grades, q stops.\n";
}

std::string GradeEntry::map() const {
  return places_.draw(order_[position_], [&](std::size_t index) {
    if (index == order_[position_]) return '@';
    const auto found = std::find(order_.begin(), order_.end(), index);
    if (found == order_.end()) return ' ';
    return is_done(static_cast<std::size_t>(found - order_.begin())) ? '#' : '.';
  });
}

std::string GradeEntry::prompt() {
  if (order_.empty()) return "Nothing is left to look at again. Enter to finish> ";
  if (asks_note_) return "note for " + swatch(position_).id + "> ";
  if (at_end_) {
    const std::string what = options_.again ? "looked at" : "graded";
    return "All " + std::to_string(total()) + ' ' + what + ". Enter to finish, u takes back the last> ";
  }
  std::string text;
  const std::size_t index = order_[position_];
  if (!shown_map_for_ || !places_.same_column(*shown_map_for_, index)) text += map();
  shown_map_for_ = index;
  text += places_.place(index) + "; " + std::to_string(left()) + " of " + std::to_string(total()) + " left\n";
  text += swatch(position_).id;
  if (swatch(position_).role == design::Role::reference) text += " (reference)";
  if (const SwatchGrade* grade = grade_of(position_)) {
    text += " [" + grade_text(grade->frost) + ' ' + grade_text(grade->chipping) + ']';
  }
  if (!note_.empty()) text += " (note)";
  return text + "> ";
}

GradeEntry::Step GradeEntry::take(const std::string& raw_line, const std::string& now) {
  FROSTCAL_ASSERT(!finished_, "a finished entry takes no more lines");
  FROSTCAL_ASSERT(unsaved_.empty(), "saved() after each step with rows");
  std::string line = trimmed(raw_line);
  if (line.size() == 1 || (line.size() > 1 && line[1] == ' '))
    line[0] = errors::to_lower(line.substr(0, 1))[0];
  if (asks_note_) {
    asks_note_ = false;
    return take_note(trimmed(raw_line));
  }
  if (line == "q") return stop();
  if (line == "u") return take_back(now);
  if (line == "?") return {words(), {}};
  if (line == "m" && !order_.empty()) return {map(), {}};
  if (const std::optional<std::string> id = SwatchNames(grid_).find(line)) return jump(*id);
  if (at_end_) {
    if (line.empty()) {
      finished_ = true;
      return {};
    }
    if (looks_like_swatch(line)) return {refusal(line), {}, true};
    return {"found " + errors::quoted(line) + "; all are done: Enter, u, q or a swatch such as " +
                (order_.empty() ? "B7" : swatch(0).id) + '\n',
            {},
            true};
  }
  if (line == "s") return skip();
  if (line == "n") {
    asks_note_ = true;
    return {};
  }
  if (line.size() > 2 && line[0] == 'n' && line[1] == ' ') return take_note(trimmed(line.substr(2)));
  if (line.empty() && options_.again) {
    return save({look_row(*grade_of(position_), note_, now)}, swatch(position_).id + ": as it was");
  }
  if (line.empty()) return {"Type frost and chipping, such as 4 0; ? shows the words.\n", {}};
  return take_numbers(line, now);
}

GradeEntry::Step GradeEntry::take_numbers(const std::string& line, const std::string& now) {
  const std::vector<std::string> parts = split_numbers(line);
  std::optional<int> frost;
  std::optional<int> chipping;
  if (options_.again && parts.size() == 1 && parts[0] != "-" &&
      read_grade(parts[0], shop::kChippingGrades, chipping)) {
    const SwatchGrade& before = *grade_of(position_);
    Step step = grade(std::nullopt, chipping, now);  // a later look: frost stays, the worse chipping counts
    if (before.chipping && *before.chipping > *chipping) {
      step.text += "  the earlier look saw chipping " + std::to_string(*before.chipping) +
                   ", and the worse one counts; to correct it type both grades\n";
    }
    return step;
  }
  if (parts.size() != 2 || !read_grade(parts[0], shop::kFrostGrades, frost) ||
      !read_grade(parts[1], shop::kChippingGrades, chipping)) {
    return {refusal(line), {}, true};
  }
  return grade(frost, chipping, now);
}

std::string GradeEntry::refusal(const std::string& line) const {
  if (looks_like_swatch(line)) {
    errors::FaultList faults;
    (void)SwatchNames(grid_).read({line, {}}, faults);
    return errors::to_text(faults.faults().front()) + '\n';
  }
  if (line == "-") {
    return "found \"-\", which stands for one grade; expected two: - - when neither can be given, 4 - when "
           "only frost can\n";
  }
  return "found " + errors::quoted(line) + ", expected frost 0 to " + std::to_string(shop::kFrostGrades - 1) +
         ", a blank, chipping 0 to " + std::to_string(shop::kChippingGrades - 1) + ", such as 4 0" +
         (options_.again ? ", or the chipping alone" : "") + "; ? helps\n";
}

GradeEntry::Step GradeEntry::grade(std::optional<int> frost, std::optional<int> chipping,
                                   const std::string& now) {
  const SwatchGrade* before = grade_of(position_);
  const GradeRow row{swatch(position_).id, frost, chipping, note_, options_.grader, now, 0};
  // A grading with one grade missing replaces an earlier one as a whole; only a later look adds to it.
  const bool partial = frost.has_value() != chipping.has_value();
  std::vector<GradeRow> added;
  if (partial && before != nullptr && !options_.again) {
    added.push_back({row.swatch, std::nullopt, std::nullopt, std::string(kTakenBack), row.grader, now, 0});
  }
  added.push_back(row);
  if (options_.again && !is_look(row, *before)) {
    std::optional<SwatchGrade> after = *before;
    apply_row(row, after);
    added.push_back(look_row(*after, "", now));  // that it was typed in a later look shows in no other way
  }
  const bool only_chipping = !frost && chipping && options_.again;
  return save(added, only_chipping ? row.swatch + ": chipping " + std::to_string(*chipping)
                                   : outcome(row.swatch, frost, chipping));
}

GradeEntry::Step GradeEntry::save(std::vector<GradeRow> rows, const std::string& shown) {
  const std::string& id = swatch(position_).id;
  unsaved_ = std::move(rows);
  unsaved_change_ = Change{position_, counting_rows(id), looked_at_.count(id) != 0, shown, note_};
  return {shown + (note_.empty() ? "" : " (with note)") + '\n', unsaved_};
}

/// The rows on which the present grade of a swatch rests; looks that found it as it was are none of them.
std::vector<GradeRow> GradeEntry::counting_rows(const std::string& id) const {
  std::vector<GradeRow> counting;
  std::optional<SwatchGrade> grade;
  for (const GradeRow& row : rows_) {
    if (row.swatch != id) continue;
    const std::optional<SwatchGrade> before = grade;
    apply_row(row, grade);
    if (!grade) counting.clear();
    const bool as_it_was = before && grade && is_look(row, *before) && row.note.empty() &&
                           before->frost == grade->frost && before->chipping == grade->chipping;
    if (grade && !as_it_was) counting.push_back(row);
  }
  return counting;
}

void GradeEntry::saved() {
  FROSTCAL_ASSERT(!unsaved_.empty(), "saved() belongs to a step with rows");
  rows_.insert(rows_.end(), unsaved_.begin(), unsaved_.end());
  unsaved_.clear();
  count();
  if (unsaved_change_) {
    looked_at_.insert(swatch(unsaved_change_->position).id);
    changes_.push_back(*unsaved_change_);
    note_.clear();
    go_to_next();
  } else {
    const Change& change = changes_.back();
    position_ = change.position;
    note_ = change.note;  // it waits for the right grade
    if (!change.looked_at) looked_at_.erase(swatch(position_).id);
    changes_.pop_back();
    at_end_ = false;
  }
}

GradeEntry::Meanwhile GradeEntry::refresh(const std::vector<GradeRow>& rows, bool asked) {
  FROSTCAL_ASSERT(unsaved_.empty(), "saved() after each step with rows");
  std::vector<GradeRow> now;
  for (const GradeRow& row : rows) {
    if (row.grader == options_.grader) now.push_back(row);
  }
  if (now.size() <= rows_.size()) return {};  // nothing was appended
  const std::vector<GradeRow> appended(now.begin() + static_cast<std::ptrdiff_t>(rows_.size()), now.end());
  const bool was_done = at_end_ || is_done(position_);
  Meanwhile meanwhile;
  std::set<std::string> seen;
  for (const GradeRow& row : appended) {
    const auto before = grades_.find(row.swatch);
    if (before != grades_.end() && is_look(row, before->second)) looked_at_.insert(row.swatch);
    if (takes_back(row)) looked_at_.erase(row.swatch);
    seen.insert(row.swatch);
  }
  rows_ = now;
  count();
  std::vector<std::string> named;
  for (std::size_t i = 0; i < order_.size(); ++i) {
    const std::string& id = swatch(i).id;
    if (seen.count(id) == 0) continue;
    meanwhile.here = meanwhile.here || (!at_end_ && i == position_);
    const SwatchGrade* grade = grade_of(i);
    named.push_back(grade == nullptr
                        ? id + " (taken back)"
                        : id + " (" + grade_text(grade->frost) + ' ' + grade_text(grade->chipping) + ')');
  }
  changes_.erase(
      std::remove_if(changes_.begin(), changes_.end(),
                     [&](const Change& change) { return seen.count(swatch(change.position).id) != 0; }),
      changes_.end());
  if (named.empty()) return {};
  meanwhile.text = "meanwhile graded as " + options_.grader +
                   " elsewhere, another terminal perhaps: " + textfile::joined(named) + '\n';
  if (options_.again) {
    meanwhile.gone = meanwhile.here && grade_of(position_) == nullptr;
    meanwhile.text += drop_ungraded();
  }
  const bool stays = asked || asks_note_ || !note_.empty();
  if (!stays && !was_done && !at_end_ && is_done(position_)) go_to_next();
  return meanwhile;
}

/// Takes the swatches whose grade was withdrawn meanwhile out of a later look, which asks what became of it.
std::string GradeEntry::drop_ungraded() {
  std::vector<std::size_t> kept;
  std::vector<std::size_t> places(order_.size());
  for (std::size_t i = 0; i < order_.size(); ++i) {
    places[i] = kept.size();
    if (grade_of(i) != nullptr) kept.push_back(order_[i]);
  }
  if (kept.size() == order_.size()) return "";
  const bool here = !at_end_ && grade_of(position_) == nullptr;
  std::string dropped = here ? drop_note() : "";
  if (here) asks_note_ = false;
  for (Change& change : changes_) change.position = places[change.position];
  order_ = std::move(kept);
  position_ = places[position_];
  if (order_.empty()) {
    at_end_ = true;
  } else if (here) {
    position_ = (position_ + order_.size() - 1) % order_.size();  // so that the one behind it is next
    go_to_next();
  } else {
    position_ = std::min(position_, order_.size() - 1);
  }
  return dropped;
}

GradeEntry::Step GradeEntry::take_back(const std::string& now) {
  if (changes_.empty())
    return {"nothing to take back in this sitting; go to a swatch and grade it anew\n", {}};
  const Change& change = changes_.back();
  const std::string& id = swatch(change.position).id;
  unsaved_ = {{id, std::nullopt, std::nullopt, std::string(kTakenBack), options_.grader, now, 0}};
  unsaved_.insert(unsaved_.end(), change.before.begin(), change.before.end());
  if (change.looked_at) {
    std::optional<SwatchGrade> grade;
    for (const GradeRow& row : change.before) apply_row(row, grade);
    if (grade) unsaved_.push_back(look_row(*grade, "", now));
  }
  unsaved_change_.reset();
  return {drop_note() + "took back " + change.shown +
              (change.note.empty() ? "" : "; its note waits for the right grade") + '\n',
          unsaved_};
}

GradeEntry::Step GradeEntry::take_note(const std::string& text) {
  if (text.empty()) return {"no note\n", {}};
  if (text == kTakenBack) {
    return {"\"" + text + "\" is how a grade that was taken back is kept; say it in other words\n", {}, true};
  }
  const std::string note = textfile::on_one_line(text);
  if (std::optional<errors::Fault> fault = textfile::free_text_fault(note, textfile::kLongestNote)) {
    fault->place.field = "note";
    return {errors::to_text(*fault) + '\n', {}, true};
  }
  note_ = note;
  return {"noted; saved with the grade of " + swatch(position_).id + '\n', {}};
}

/// A note waits for the grade of its swatch; leaving the swatch drops it, and says so.
std::string GradeEntry::drop_note() {
  if (note_.empty()) return "";
  note_.clear();
  return "the note for " + swatch(position_).id + " is dropped: it was not graded\n";
}

GradeEntry::Step GradeEntry::jump(const std::string& id) {
  for (std::size_t i = 0; i < order_.size(); ++i) {
    if (swatch(i).id != id) continue;
    const std::string dropped = drop_note();
    position_ = i;
    at_end_ = false;
    return {dropped, {}};
  }
  return {id + " has no grade of " + options_.grader + " to look at again\n", {}};
}

GradeEntry::Step GradeEntry::skip() {
  const std::string dropped = drop_note();
  const std::string id = swatch(position_).id;
  go_to_next();
  const bool only_one = swatch(position_).id == id;
  return {dropped + (only_one ? id + " is the only one left; q stops\n" : ""), {}};
}

GradeEntry::Step GradeEntry::stop() {
  finished_ = true;
  return {drop_note(), {}};
}

std::string GradeEntry::words() const {
  std::string text = "frost\n";
  for (int i = 0; i < shop::kFrostGrades; ++i) {
    text += "  " + std::to_string(i) + "  " + scale_.frost[static_cast<std::size_t>(i)] + '\n';
  }
  text += "chipping\n";
  for (int i = 0; i < shop::kChippingGrades; ++i) {
    text += "  " + std::to_string(i) + "  " + scale_.chipping[static_cast<std::size_t>(i)] + '\n';
  }
  return text +
         "- for a grade that cannot be given, such as 4 - or - -. u takes back, s skips, n TEXT notes, B7 "
         "goes to B7, m map, q "
         "stops.\n";
}

}  // namespace frostcal::grades
