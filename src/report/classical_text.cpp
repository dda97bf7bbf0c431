#include "report/classical_text.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "table/setting_json.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "textfile/wrapped_text.hpp"

namespace frostcal::report {

using Eigen::Index;
using Json = nlohmann::ordered_json;
using textfile::format_fixed;
using textfile::left_column;
using textfile::right_column;

namespace {

std::string shown(double value, int decimals, std::size_t width) {
  return right_column(std::isfinite(value) ? format_fixed(value, decimals) : "-", width);
}

std::string p_value(double p, std::size_t width) {
  return right_column(p < 0.0001 ? "<0.0001" : format_fixed(p, 4), width);
}

// "x1:x2" with the factors' own names; "block2" with the grid's.
std::string term_name(const std::string& term, const surface::SettingSurface& surface) {
  if (term.rfind("block", 0) == 0) return "grid " + surface.grids[std::stoul(term.substr(5)) - 1];
  std::string text;
  for (std::size_t at = 0; at < term.size(); ++at) {
    if (term[at] != 'x' || at + 1 == term.size()) {
      text += term[at] == ':' ? " x " : std::string(1, term[at]);
      continue;
    }
    text += surface.factors[static_cast<std::size_t>(term[++at] - '1')];
  }
  return term == "intercept" ? term : text;
}

std::size_t term_width(const surface::SettingSurface& surface) {
  std::size_t width = 24;
  for (const std::string& term : surface.fit.terms) width = std::max(width, term_name(term, surface).size());
  return width;
}

std::string coefficient_lines(const surface::SettingSurface& surface) {
  const std::size_t width = term_width(surface);
  std::string text = "  " + left_column("", width) + " coefficient  std. error        t        p\n";
  for (std::size_t k = 0; k < surface.fit.terms.size(); ++k) {
    const Index at = static_cast<Index>(k);
    const surface::TermTest test = surface::term_test(surface.fit, static_cast<int>(k));
    text += "  " + left_column(term_name(surface.fit.terms[k], surface), width) +
            shown(surface.fit.fit.coefficients[at], 5, 12) +
            shown(surface.fit.fit.standard_errors[at], 5, 12) + shown(test.t, 2, 9) + p_value(test.p, 9) +
            '\n';
  }
  return text;
}

/// Residual and pure error are what is tested against; a lack of fit can't be tested where no error is pure.
bool is_tested(const surface::AnovaRow& row) {
  return row.term != "residual" && row.term != "pure error" && row.df > 0 && row.f > 0;
}

std::string anova_lines(const surface::SettingSurface& surface) {
  std::string text = "  " + left_column("", 16) + "   df  sum of squares  mean square        F        p\n";
  for (const surface::AnovaRow& row : surface.fit.anova) {
    text += "  " + left_column(row.term, 16) + shown(row.df, 0, 5) + shown(row.ss, 5, 16);
    text += row.df > 0 ? shown(row.ms, 5, 13) : "";
    text += is_tested(row) ? shown(row.f, 2, 9) + p_value(row.p, 9) : "";
    text += '\n';
  }
  return text;
}

std::string kind_text(surface::StationaryKind kind) {
  switch (kind) {
    case surface::StationaryKind::maximum:
      return "maximum";
    case surface::StationaryKind::minimum:
      return "minimum";
    case surface::StationaryKind::saddle:
      break;
  }
  return "saddle";
}

/// A sentence of the text; what goes on is indented by two more.
std::string indented(const std::string& text) {
  return textfile::wrapped("  " + text, textfile::kWidest, 4) + '\n';
}

std::string stationary_lines(const surface::SettingSurface& surface) {
  if (!surface.canonical.exists)
    return indented("No stationary point: the fitted surface has no curvature to place one.");
  std::string text = "Stationary point (" + kind_text(surface.canonical.kind) + ") at ";
  for (std::size_t j = 0; j < surface.factors.size(); ++j) {
    text += (j > 0 ? ", " : "") + surface.factors[j] + ' ' +
            format_fixed(surface.stationary_setting[static_cast<Index>(j)], 2);
  }
  text += ": predicted " + format_fixed(surface.at_stationary, 2) +
          (surface.within_burned ? "" : "; outside the range that was burned");
  text = indented(text) + "  Eigenvalues:";
  for (const double value : surface.canonical.eigenvalues) text += ' ' + format_fixed(value, 4);
  return text + '\n';
}

std::string ridge_lines(const surface::SettingSurface& surface) {
  constexpr std::size_t kColumn = 11;
  std::string text = "  Highest at each distance from the middle of what was burned (coded):\n    distance";
  for (const std::string& factor : surface.factors) text += right_column(factor, kColumn);
  text += right_column("predicted", kColumn) + '\n';
  for (const surface::RidgePoint& point : surface.ridge) {
    text += "    " + shown(point.radius, 2, 8);
    for (const double value : surface.coding.natural(point.coded)) text += shown(value, 2, kColumn);
    text += shown(point.predicted, 2, kColumn) + '\n';
  }
  return text;
}

std::string split_plot_lines(const surface::SettingSurface& surface) {
  if (!surface.split_plot) return "";
  const surface::SplitPlot& plot = *surface.split_plot;
  const std::size_t width = term_width(surface);
  std::string text =
      "\n  Swatches of one burn share its chances, and dpi changes only between burns.\n"
      "  With random effects of burns (REML) the same terms are:\n  " +
      left_column("", width) + " coefficient  std. error\n";
  for (std::size_t k = 0; k < plot.terms.size(); ++k) {
    const Index at = static_cast<Index>(k);
    text += "  " + left_column(term_name(plot.terms[k], surface), width) +
            shown(plot.reml.coefficients[at], 5, 12) + shown(plot.reml.standard_errors[at], 5, 12) + '\n';
  }
  text += "  Standard deviation:";
  for (std::size_t k = 0; k < plot.random_effects.size(); ++k) {
    text += " between " + plot.random_effects[k] + "s " +
            format_fixed(std::sqrt(plot.reml.variances[static_cast<Index>(k)]), 4) + ',';
  }
  return text + " within a burn " + format_fixed(std::sqrt(plot.reml.residual_variance), 4) + '\n';
}

Json vector_json(const Eigen::VectorXd& values) {
  Json array = Json::array();
  for (const double value : values) array.push_back(value);
  return array;
}

Json stationary_json(const surface::SettingSurface& surface) {
  if (!surface.canonical.exists) return nullptr;
  Json object;
  object["kind"] = kind_text(surface.canonical.kind);
  object["coded"] = vector_json(surface.canonical.stationary_point);
  for (std::size_t j = 0; j < surface.factors.size(); ++j) {
    object["setting"][surface.factors[j]] = surface.stationary_setting[static_cast<Index>(j)];
  }
  object["predicted"] = surface.at_stationary;
  object["within_burned"] = surface.within_burned;
  object["eigenvalues"] = vector_json(surface.canonical.eigenvalues);
  object["eigenvectors"] = Json::array();
  for (Index j = 0; j < surface.canonical.eigenvectors.cols(); ++j) {
    object["eigenvectors"].push_back(vector_json(surface.canonical.eigenvectors.col(j)));
  }
  return object;
}

Json split_plot_json(const surface::SplitPlot& plot) {
  Json object;
  for (std::size_t k = 0; k < plot.terms.size(); ++k) {
    const Index at = static_cast<Index>(k);
    object["terms"].push_back({{"term", plot.terms[k]},
                               {"coefficient", plot.reml.coefficients[at]},
                               {"standard_error", plot.reml.standard_errors[at]}});
  }
  for (std::size_t k = 0; k < plot.random_effects.size(); ++k) {
    object["variances"][plot.random_effects[k]] = plot.reml.variances[static_cast<Index>(k)];
  }
  object["variances"]["residual"] = plot.reml.residual_variance;
  return object;
}

Json surface_json(const surface::SettingSurface& surface) {
  Json object;
  for (std::size_t j = 0; j < surface.factors.size(); ++j) {
    const Index at = static_cast<Index>(j);
    object["factors"].push_back({{"name", surface.factors[j]},
                                 {"centre", surface.coding.centre[at]},
                                 {"half_range", surface.coding.half_range[at]}});
  }
  object["grids"] = surface.grids;
  object["left_out"] = surface.left_out;
  for (std::size_t k = 0; k < surface.fit.terms.size(); ++k) {
    const Index at = static_cast<Index>(k);
    const surface::TermTest test = surface::term_test(surface.fit, static_cast<int>(k));
    object["terms"].push_back({{"term", surface.fit.terms[k]},
                               {"coefficient", surface.fit.fit.coefficients[at]},
                               {"standard_error", surface.fit.fit.standard_errors[at]},
                               {"t", test.t},
                               {"p", test.p}});
  }
  for (const surface::AnovaRow& row : surface.fit.anova) {
    const auto known = [](bool is, double value) { return is ? Json(value) : Json(nullptr); };
    object["anova"].push_back({{"term", row.term},
                               {"df", row.df},
                               {"ss", row.ss},
                               {"ms", known(row.df > 0, row.ms)},
                               {"f", known(is_tested(row), row.f)},
                               {"p", known(is_tested(row), row.p)}});
  }
  const numerics::LeastSquaresFit& fit = surface.fit.fit;
  object["residual_sd"] = fit.residual_sd;
  object["residual_df"] = fit.residual_df;
  object["r_squared"] = fit.r_squared;
  object["adjusted_r_squared"] = fit.adjusted_r_squared;
  object["predicted_r_squared"] = fit.predicted_r_squared;
  object["f"] = fit.f_statistic;
  object["f_p"] = fit.f_p_value;
  object["stationary"] = stationary_json(surface);
  for (const surface::RidgePoint& point : surface.ridge) {
    object["ridge"].push_back(
        {{"radius", point.radius}, {"coded", vector_json(point.coded)}, {"predicted", point.predicted}});
  }
  object["split_plot"] = surface.split_plot ? split_plot_json(*surface.split_plot) : Json(nullptr);
  return object;
}

}  // namespace

std::string classical_text(const ClassicalAnalysis& analysis) {
  std::string text = analysis.glass + " on " + analysis.machine + ": " + analysis.response + ", " +
                     textfile::counted(analysis.swatches, "swatch", "swatches") + '\n';
  if (!analysis.surface) {
    return text + indented(
                      "The swatches cannot tell what power, speed and dpi do: too few, or too few "
                      "different settings.");
  }
  const surface::SettingSurface& surface = *analysis.surface;
  std::string ranges = "  ";
  for (std::size_t j = 0; j < surface.factors.size(); ++j) {
    const double centre = surface.coding.centre[static_cast<Index>(j)];
    const double half = surface.coding.half_range[static_cast<Index>(j)];
    ranges += (j > 0 ? ", " : "") + surface.factors[j] + ' ' + textfile::format_number(centre - half) +
              " to " + textfile::format_number(centre + half);
  }
  text += "  Least squares in coded units, -1 to 1 over what was burned:\n" + indented(ranges);
  if (!surface.left_out.empty()) {
    text += indented("Left out, because the settings cannot tell them apart: " +
                     textfile::joined(surface.left_out));
  }
  const numerics::LeastSquaresFit& fit = surface.fit.fit;
  text += '\n' + coefficient_lines(surface) + '\n' + anova_lines(surface) + "\n  R2 " +
          format_fixed(fit.r_squared, 4) + ", adjusted " + format_fixed(fit.adjusted_r_squared, 4) +
          ", predicted " +
          (std::isfinite(fit.predicted_r_squared) ? format_fixed(fit.predicted_r_squared, 4) : "none") +
          "\n  Residual standard deviation " + format_fixed(fit.residual_sd, 4) + " on " +
          format_fixed(fit.residual_df, 0) + " degrees of freedom\n";
  return text + stationary_lines(surface) + ridge_lines(surface) + split_plot_lines(surface);
}

std::string classical_json(const std::string& key, const std::vector<ClassicalAnalysis>& analyses) {
  Json root;
  root["schema"] = "frostcal.fit/1";
  root["glass"] = Json::array();
  root[key] = Json::array();
  for (const ClassicalAnalysis& analysis : analyses) {
    Json object;
    object["glass"] = analysis.glass;
    object["machine"] = analysis.machine;
    object["response"] = analysis.response;
    object["swatches"] = analysis.swatches;
    if (analysis.surface) object.update(surface_json(*analysis.surface));
    object["fitted"] = analysis.surface.has_value();
    root[key].push_back(object);
  }
  return table::json_line(root);
}

}  // namespace frostcal::report
