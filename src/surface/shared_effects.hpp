// Effects that several glasses have in common: how severe a grader is, and how much power a machine delivers,
// from one day to another and over months.
//
// Each glass is sketched by itself. With prior variance s^2 of an effect and posterior mean m and variance v,
// the glass's own message about it is Gaussian with precision 1/v - 1/s^2 and precision times mean m/v. The
// prior of an effect in one glass is its own prior times the messages of all other glasses. A grader's
// severity is one for each response; a power effect is the same for both, so that each response also hears
// the other's message.
//
// What one glass tells of a trend may be its own: its later bottles may be of another kind. So a glass feels
// the machine's trend plus, with a certain probability, a change of its own. Where several glasses tell the
// same, it is the machine. A trend's own prior is a mixture of two normals where several bottles stand on
// either side of it and a second glass can bear it out, else a narrow one: one glass alone moves its own
// surface and hardly the others'. Its evidence is blurred by what bottles differ, and customers' pieces say
// nothing of it. Its posterior is summed on a raster.
//
// Power effects are linear in the surface's slope. A trend moves swatches too far for that, and blurs the
// surface that the slope is taken from: the places are moved by what is believed of it, and the messages
// gathered anew until they settle (Gauss and Newton's way).
#pragma once

#include <string>
#include <vector>

#include "surface/glass_rows.hpp"
#include "surface/link_function.hpp"
#include "surface/surface_basis.hpp"

namespace frostcal::surface {

/// How a machine's delivered power changed between the first and the last day with graded swatches, as grades
/// of glasses burned on both sides tell; a straight line in ln power.
struct PowerTrend {
  std::string machine;
  std::string since;  // "2026-03-02"
  std::string until;
  int glasses = 0;          // that tell something of note
  bool one_bottle = false;  // a single bottle stands at one end: it can't be told from a change of power
  double change = 0;        // -0.08: down 8 %
  double low = 0;           // central 90 % interval
  double high = 0;
};

/// What `from` delivers now of what it did on its first graded day, over the same of `to`; 1 where neither
/// has a trend.
double delivered_share(const std::vector<PowerTrend>& trends, const std::string& from, const std::string& to);

/// Fills in the priors of grader, day and trend effects, and the slopes along ln power that the dated ones
/// need. Glasses without any of them stay as they are. Returns one trend per machine that has one, by name.
std::vector<PowerTrend> share_effects(std::vector<GlassRows>& glasses, const SurfaceBasis& basis, Link link);

}  // namespace frostcal::surface
