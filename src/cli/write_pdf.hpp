// One PDF that the user asked for by name.
#pragma once

#include <string>
#include <vector>

#include "sheet/drawing.hpp"

namespace frostcal::cli {

/// Draws the pages and writes them to FILE, anywhere. Its date is SOURCE_DATE_EPOCH when that is set, else
/// none, so that the same input gives the same bytes. Throws SystemError.
void write_pdf(const std::string& file, const std::string& title, const std::vector<sheet::Page>& pages);

}  // namespace frostcal::cli
