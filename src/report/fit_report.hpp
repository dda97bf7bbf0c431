// `fit --report`: what is known of each glass, on paper.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "choice/decision.hpp"
#include "report/chance_map.hpp"
#include "report/grader_table.hpp"
#include "sheet/drawing.hpp"
#include "shop/shop.hpp"

namespace frostcal::report {

/// The chance along one factor through the best setting, with its 90 % interval. All vectors have one length.
struct ChanceCut {
  std::string axis;        // "power %"
  std::vector<double> at;  // ascending, positive
  std::vector<double> chance;
  std::vector<double> low;
  std::vector<double> high;
  double best = 0;            // the best setting's value
  std::vector<double> tried;  // values that were burned, marked on the axis
};

/// How many swatches got each grade, and how many the surface expects: one entry per grade.
struct GradeCounts {
  std::string response;  // "frost"
  std::vector<double> seen;
  std::vector<double> expected;
};

struct GlassReport {
  choice::GlassChoice choice;
  std::string limited_by;       // in words; empty = nothing
  std::vector<ChanceMap> maps;  // ascending dpi
  std::vector<ChanceCut> cuts;
  std::vector<GradeCounts> counts;
  GraderTable graders;
  std::string evidence;  // "grids 0003, 0007; 36 swatches on 3 bottles; grades simulated"
};

struct ReportHead {
  std::string shop;
  std::string date;  // 2026-11-25
  std::string bar;   // "frost 4 or better and chipping 0"
  double target = 0.9;
  std::string version;  // of the tool
  shop::Paper paper = shop::Paper::a4;
  shop::LengthUnit units = shop::LengthUnit::mm;
};

/// At least one page per glass, in the given order.
std::vector<sheet::Page> fit_report(const ReportHead& head, const std::vector<GlassReport>& glasses);

}  // namespace frostcal::report
