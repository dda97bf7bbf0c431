// The logged pieces that count, apart from those that are set aside because the machine had a fault which was
// cured since. Whatever reckons with pieces takes them from here.
#pragma once

#include <string>
#include <vector>

#include "grades/cured_file.hpp"
#include "grades/piece_file.hpp"
#include "shop/shop.hpp"
#include "textfile/file_system.hpp"

namespace frostcal::grades {

/// Pieces of one glass that one cured fault sets aside.
struct SetAside {
  CuredFault fault;
  std::string glass;
  std::vector<PieceRow> pieces;  // in file order, at least one
};

struct LoggedPieces {
  std::vector<PieceRow> all;      // in file order
  std::vector<PieceRow> counted;  // those that are not set aside
  std::vector<CuredFault> cured;
  std::vector<SetAside> set_aside;  // by fault and then by glass; a piece is with the first fault that has it
};

/// True when what happened on the machine at that time is set aside.
bool covers(const CuredFault& fault, const std::string& machine, const std::string& time);

LoggedPieces sort_pieces(std::vector<PieceRow> pieces, std::vector<CuredFault> cured);

/// pieces.csv and cured-faults.csv. `as_of` (a date, 2026-11-25) leaves out what was logged and recorded
/// later; empty = everything. Throws UserError for a fault in either file.
LoggedPieces read_logged(const shop::Shop& shop, const std::string& as_of = "",
                         textfile::FileSystem& files = textfile::real_file_system());

/// How many pieces of the glass on the machine are set aside.
int count_set_aside(const std::vector<SetAside>& set_aside, const std::string& glass,
                    const std::string& machine);

/// "8 pieces set aside: lens cleaned on 2026-11-05; 3 pieces set aside: ...", the faults recorded at or after
/// `since`; empty for none.
std::string set_aside_text(const std::vector<SetAside>& set_aside, const std::string& glass,
                           const std::string& machine, const std::string& since = "");

}  // namespace frostcal::grades
