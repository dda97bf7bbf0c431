// A quick fit of one glass: both responses under every scale's median, for questions between glasses.
#pragma once

#include <array>
#include <vector>

#include "surface/glass_rows.hpp"
#include "surface/response_fit.hpp"
#include "surface/surface_basis.hpp"

namespace frostcal::surface {

struct GlassSketch {
  std::array<ScaleComponent, 2> response;  // frost, chipping
  std::array<std::vector<GradeSite>, 2> sites;
};

/// Unpooled and not shifted along ln dose. Keep::all settles less finely.
GlassSketch sketch_of(const GlassRows& rows, const SurfaceBasis& basis, Link link,
                      Keep keep = Keep::heaviest);

/// Sets the first surfaces from which dated effects have their slopes along ln power.
void add_slopes(GlassRows& rows, const SurfaceBasis& basis, Link link);

/// Independent priors of the surface weights under one setting of the scales.
WeightPrior independent_prior(Response response, const ScaleSetting& setting, const SurfaceBasis& basis,
                              double dose_shift);

}  // namespace frostcal::surface
