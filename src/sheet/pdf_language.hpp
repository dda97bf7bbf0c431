// The language of a PDF document, for screen readers (ISO 32000-1, 14.9.2: the catalog's Lang entry), which
// libharu 2.3 cannot set.
#pragma once

#include <string>

namespace frostcal::sheet {

/// `pdf` with a new version of its catalog appended that carries Lang, as an incremental update (ISO 32000-1,
/// 7.5.6). `pdf` must have a classic cross-reference table; throws Bug otherwise.
std::string with_language(const std::string& pdf, const std::string& language);

}  // namespace frostcal::sheet
