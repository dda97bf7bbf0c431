// How graders agree, on the fit report.
#pragma once

#include <string>
#include <vector>

#include "grades/rater_agreement.hpp"
#include "sheet/paper_flow.hpp"

namespace frostcal::report {

struct GraderTable {
  std::vector<grades::GraderAgreement> pairs;
  std::vector<grades::GraderConsistency> repeats;
  std::string cost;  // what it costs the fit, a sentence; may be empty
};

/// A row for each pair of graders and for each grader over repeats: swatches, weighted kappa of frost and of
/// chipping with 90 % interval, mean difference; then the swatches they should look at together, and the
/// cost. Draws nothing when there is no row.
void draw_grader_table(sheet::PaperFlow& flow, const GraderTable& table);

}  // namespace frostcal::report
