#include "report/plain_text.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <vector>

#include "table/setting_json.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "textfile/wrapped_text.hpp"

namespace frostcal::report {

using Eigen::Index;
using Json = nlohmann::ordered_json;
using textfile::format_fixed;

namespace {

std::string link_name(surface::Link link) {
  return link == surface::Link::probit ? "probit" : "logit";
}

std::vector<std::string> cutpoint_names(const surface::PlainOrdinal& data) {
  std::vector<std::string> names;
  for (std::size_t j = 0; j + 1 < data.grades.size(); ++j) {
    names.push_back(std::to_string(data.grades[j]) + '|' + std::to_string(data.grades[j + 1]));
  }
  return names;
}

std::string lines(const std::vector<std::string>& names, const Eigen::VectorXd& values,
                  const Eigen::VectorXd& errors) {
  std::string text;
  for (std::size_t k = 0; k < names.size(); ++k) {
    const std::string value = format_fixed(values[static_cast<Index>(k)], 6);
    const std::string error = errors.size() == 0 ? "-" : format_fixed(errors[static_cast<Index>(k)], 6);
    text += "  " + textfile::left_column(names[k], 24) + textfile::right_column(value, 14) +
            textfile::right_column(error, 14) + '\n';
  }
  return text;
}

Json terms(const std::vector<std::string>& names, const Eigen::VectorXd& values,
           const Eigen::VectorXd& errors) {
  Json array = Json::array();
  for (std::size_t k = 0; k < names.size(); ++k) {
    const Index at = static_cast<Index>(k);
    array.push_back({{"term", names[k]},
                     {"coefficient", values[at]},
                     {"standard_error", errors.size() == 0 ? Json(nullptr) : Json(errors[at])}});
  }
  return array;
}

}  // namespace

std::string plain_text(const surface::PlainOrdinal& data, const surface::PlainFit& fit, surface::Link link) {
  std::string text = "Cumulative " + link_name(link) +
                     " without prior: " + textfile::format_number(data.weight.sum()) +
                     " graded, log likelihood " + format_fixed(fit.log_likelihood, 5) + "\n  " +
                     std::string(27, ' ') + "estimate    std. error\n";
  text += lines(data.coefficients, fit.coefficients, fit.coefficient_errors);
  text += lines(cutpoint_names(data), fit.cutpoints, fit.cutpoint_errors);
  if (fit.separated) {
    text += textfile::wrapped(
                "  These numbers mean little: the columns part the grades so cleanly, or depend on one "
                "another so "
                "closely, that the likelihood has no maximum that the data can place.",
                textfile::kWidest, 2) +
            '\n';
  }
  return text;
}

std::string plain_json(const surface::PlainOrdinal& data, const surface::PlainFit& fit, surface::Link link) {
  Json root;
  root["schema"] = "frostcal.fit/1";
  root["glass"] = Json::array();
  Json& plain = root["plain"];
  plain["link"] = link_name(link);
  plain["rows"] = data.category.size();
  plain["observations"] = data.weight.sum();
  plain["grades"] = data.grades;
  plain["converged"] = fit.status == surface::NewtonStatus::converged;
  plain["separated"] = fit.separated;
  plain["iterations"] = fit.iterations;
  plain["log_likelihood"] = fit.log_likelihood;
  plain["coefficients"] = terms(data.coefficients, fit.coefficients, fit.coefficient_errors);
  plain["cutpoints"] = terms(cutpoint_names(data), fit.cutpoints, fit.cutpoint_errors);
  return table::json_line(root);
}

}  // namespace frostcal::report
