// Grading line by line, without a terminal in it: lines go in, texts and rows to be saved come out.
// The setting of a swatch is never shown, so that the grade is not influenced by it.
//
//   4 0      frost 4, chipping 0 (a comma or slash will do; - for a grade that cannot be given)
//   u        take back the last one          s   skip for now       q   stop (everything is saved)
//   n TEXT   a note for this swatch          B7  go to B7           m   map        ?  the words of the grades
// In a later look (look_round.hpp) an empty line means "as it was", and one number is the chipping now.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "design/grid.hpp"
#include "grades/grade.hpp"
#include "grades/look_round.hpp"
#include "grades/swatch_map.hpp"
#include "shop/shop.hpp"

namespace frostcal::grades {

class GradeEntry {
 public:
  struct Options {
    std::string grader;
    bool again = false;                  // a later look
    std::string earlier_reference;       // "C3 on amber-jug-1 (grid 0007-amber-jug)"; empty = none
    shop::Side neck = shop::Side::left;  // where the rotary held it
  };
  struct Step {
    std::string text;  // to be shown, complete lines; when there are rows, only after they are saved
    std::vector<GradeRow> rows;  // to be saved; then call saved()
    bool refused = false;        // the line was not understood; the place is kept
  };

  struct Meanwhile {
    std::string text;   // what somebody else graded under this name; empty = nothing
    bool here = false;  // among it the swatch that is asked for
    bool gone = false;  // and its grade was withdrawn: a later look asks for the next one
  };

  /// Starts at the first swatch that this grader has not graded; `rows` are those of the results file.
  /// Reference swatches come first, so that graders settle on the same scale. In a later look, the grader's
  /// graded swatches from the first one on that this round of looks has not seen; once it has seen all, the
  /// next one begins.
  GradeEntry(const design::Grid& grid, const shop::GradeScale& scale, const std::vector<GradeRow>& rows,
             const Options& options);

  /// What to do and how much is done; to be shown once.
  std::string greeting() const;
  /// The lines above the input and the start of the input line itself, without a line end.
  std::string prompt();
  /// Takes one line; `now` is the time for its rows. When the step has rows, nothing counts until saved().
  Step take(const std::string& line, const std::string& now);
  /// The rows of the last step are on the disk.
  void saved();
  /// What the results file holds now: another terminal may grade under the same name. Moves on from a swatch
  /// that is done thereby, unless it was `asked` for already. A later look goes on without the swatches whose
  /// grade was withdrawn.
  Meanwhile refresh(const std::vector<GradeRow>& rows, bool asked);

  bool finished() const { return finished_; }
  std::size_t total() const { return order_.size(); }
  /// Swatches still without this grader's grade; in a later look, those not yet looked at.
  std::size_t left() const;

 private:
  using Grades = std::map<std::string, SwatchGrade>;  // this grader's, by swatch
  struct Change {
    std::size_t position;          // in order_
    std::vector<GradeRow> before;  // what counted before it, as rows that say it again
    bool looked_at;                // in this round, before it
    std::string shown;             // "B7: frost 4, chipping 0"
    std::string note;              // that was saved with it
  };

  const design::Swatch& swatch(std::size_t position) const { return grid_.swatches[order_[position]]; }
  bool is_done(std::size_t position) const;
  const SwatchGrade* grade_of(std::size_t position) const;
  void go_to_next();
  void count();
  std::string drop_ungraded();
  std::vector<GradeRow> counting_rows(const std::string& id) const;
  Step grade(std::optional<int> frost, std::optional<int> chipping, const std::string& now);
  Step save(std::vector<GradeRow> rows, const std::string& shown);
  Step take_numbers(const std::string& line, const std::string& now);
  Step take_back(const std::string& now);
  Step take_note(const std::string& text);
  Step jump(const std::string& id);
  Step skip();
  Step stop();
  std::string words() const;
  std::string map() const;
  std::string refusal(const std::string& line) const;
  std::string drop_note();

  const design::Grid& grid_;
  const shop::GradeScale& scale_;
  Options options_;
  SwatchMap places_;
  std::vector<std::size_t> order_;  // indices into grid_.swatches
  std::vector<GradeRow> rows_;      // of this grader, saved ones
  Grades grades_;
  LookRound round_;                  // of looks, as this sitting found it
  std::set<std::string> looked_at_;  // in it
  std::size_t position_ = 0;
  std::optional<std::size_t> shown_map_for_;
  std::string note_;        // waiting for the grade of this swatch
  bool asks_note_ = false;  // the next line is the note
  bool at_end_ = false;     // nothing is left; undo and jumps are still possible
  bool finished_ = false;
  std::vector<Change> changes_;
  std::vector<GradeRow> unsaved_;
  std::optional<Change> unsaved_change_;  // nothing: the unsaved rows take a change back
};

}  // namespace frostcal::grades
