// One PDF that the user asked for by name.
#pragma once

#include <string>
#include <vector>

#include "cli/command.hpp"
#include "sheet/drawing.hpp"
#include "shop/shop.hpp"

namespace frostcal::cli {

/// Draws the pages and writes them to FILE, anywhere. Its date is SOURCE_DATE_EPOCH when that is set, else
/// none, so that the same input gives the same bytes. Throws as write_output does.
void write_pdf(const std::string& file, const std::string& title, const std::vector<sheet::Page>& pages);

/// The value of --paper, the shop's own when it was not given. Throws UsageError.
shop::Paper read_paper(const Arguments& arguments, shop::Paper usual);

}  // namespace frostcal::cli
