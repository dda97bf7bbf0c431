// A setting in the files that rows are appended to: pieces and the settings history.
#pragma once

#include "shop/setting.hpp"
#include "textfile/csv_reader.hpp"

namespace frostcal::shop {

/// A dial in percent for a cell: two decimals, or four where it has more, as the 0.125 of some steps. Never
/// three, which a spreadsheet in another locale reads as thousands.
std::string dial_cell(double percent);

/// From six cells in a row: power, speed, dpi, tone, screen, passes. What no machine could have is a fault;
/// what this one hasn't is for the reader to judge, because machines are changed while their files stay.
Setting read_setting_cells(const textfile::CsvRow& cells, std::size_t first, errors::FaultList& faults);

}  // namespace frostcal::shop
