// The classical analysis of a measured response or of the mean frost grade, in words and as JSON.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "surface/setting_response.hpp"

namespace frostcal::report {

struct ClassicalAnalysis {
  std::string glass;
  std::string machine;
  std::string response;  // the column's name, or "mean frost grade"
  int swatches = 0;
  std::optional<surface::SettingSurface> surface;  // nothing: the swatches cannot tell even the slopes
};

/// Coefficients with standard errors, analysis of variance, R2, and the stationary point in natural units.
std::string classical_text(const ClassicalAnalysis& analysis);

/// {"schema","glass":[],KEY:[{...}]}; KEY is "measured" or "classical". One line with a line end. Terms are
/// in coded units, x1 the first of "factors". Numbers that do not exist (F without degrees of freedom) are
/// null.
std::string classical_json(const std::string& key, const std::vector<ClassicalAnalysis>& analyses);

}  // namespace frostcal::report
