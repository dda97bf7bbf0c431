// A plain cumulative-link fit, in words and as JSON.
#pragma once

#include <string>

#include "surface/plain_ordinal.hpp"

namespace frostcal::report {

std::string plain_text(const surface::PlainOrdinal& data, const surface::PlainFit& fit, surface::Link link);

/// {"schema","glass":[],"plain":{"link","rows","observations","grades","converged","separated","iterations",
/// "log_likelihood","coefficients":[{"term","coefficient","standard_error"}],"cutpoints":[...]}}. A
/// cutpoint's term is "2|3". Standard errors are null where the information is singular.
std::string plain_json(const surface::PlainOrdinal& data, const surface::PlainFit& fit, surface::Link link);

}  // namespace frostcal::report
