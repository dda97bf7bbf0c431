#include "surface/glass_sketch.hpp"

namespace frostcal::surface {

WeightPrior independent_prior(Response response, const ScaleSetting& setting, const SurfaceBasis& basis,
                              double dose_shift) {
  FeaturePrior f = feature_prior(response, setting, basis.features(setting.length_choice));
  return {std::move(f.mean), std::move(f.sd), {}, dose_shift, false};
}

GlassSketch sketch_of(const GlassRows& rows, const SurfaceBasis& basis, Link link, Keep keep) {
  GlassSketch sketch;
  for (const Response r : {Response::frost, Response::chipping}) {
    const ScaleSetting setting = typical_setting(r);
    ResponsePosterior fit =
        fit_response(r, link, rows, basis, {setting}, {independent_prior(r, setting, basis, 0)}, {}, keep);
    sketch.response[index_of(r)] = std::move(fit.components[0]);
    sketch.sites[index_of(r)] = std::move(fit.sites);
  }
  return sketch;
}

void add_slopes(GlassRows& rows, const SurfaceBasis& basis, Link link) {
  rows.slope_weights = {};
  const GlassSketch sketch = sketch_of(rows, basis, link);
  rows.slope_length = sketch.response[0].length_choice;
  for (std::size_t r = 0; r < 2; ++r) {
    rows.slope_weights[r] = sketch.response[r].mean.head(basis.features(rows.slope_length));
  }
}

}  // namespace frostcal::surface
