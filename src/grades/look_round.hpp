// Looks at swatches that were graded before (chips may come up to a day after the burn), as rows of the
// results file. A look is a row that gives the chipping alone; where no chipping can be given it repeats what
// was there. Looks go in rounds: one lasts until every graded swatch of the grader had its look, whatever the
// day, and the next look begins another.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "grades/grade.hpp"

namespace frostcal::grades {

struct LookRound {
  int number = 2;                   // 2 = the second look, the first after grading
  std::set<std::string> looked_at;  // in this round
  bool complete = false;            // nothing is left of it
  std::string last;                 // time of its last look; empty = none yet
};

/// The row that says of a graded swatch that a look found it as it was: what counts stays the same.
GradeRow look_row(const SwatchGrade& grade, const std::string& note, const std::string& now);

/// Whether the row is a look at what counted before it.
bool is_look(const GradeRow& row, const SwatchGrade& before);

/// The last round, of the rows of one grader in file order. A look that was taken back, with its grade or
/// alone, does not count.
LookRound look_round(const std::vector<GradeRow>& rows);

}  // namespace frostcal::grades
