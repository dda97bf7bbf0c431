// One graded swatch as the surface sees it: physical setting, groups and grades.
#pragma once

#include <string>
#include <vector>

#include "grades/grade.hpp"

namespace frostcal::surface {

using grades::GradeRange;

inline constexpr int kNotGraded = -1;

/// The setting in physical units, so that machines can be compared.
struct PhysicalSetting {
  double power_w = 0;     // delivered
  double speed_mm_s = 0;  // scan speed at the glass
  double pitch_mm = 0;    // line pitch at the glass
  double tone = 1;        // 0 < tone <= 1
  int passes = 1;
};

struct Observation {
  std::string glass;
  std::string bottle;  // random effect within the glass
  std::string burn;    // grid id and burn: one send to the machine
  std::string grader;
  std::string day;     // date of the burn or grading, "2026-11-25"; may be empty
  std::string swatch;  // grid id and swatch id, for findings: "0007-amber-jug B7"
  bool piece = false;  // a customer's piece: repeats one setting, not chosen to teach
  double x_mm = 0;     // place on the bottle, for findings
  double y_mm = 0;
  PhysicalSetting setting;
  GradeRange frost = kNotGraded;     // 0..5
  GradeRange chipping = kNotGraded;  // 0..3
  double weight = 1;                 // how many identical swatches this row stands for
};

}  // namespace frostcal::surface
