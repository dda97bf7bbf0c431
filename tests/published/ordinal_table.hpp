// Reading the published data and expected values of the ordinal checks.
#pragma once

#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <map>
#include <string>
#include <vector>

namespace ordinal_table {

using Row = std::map<std::string, std::string>;

inline std::vector<std::string> split_csv(const std::string& line) {
  std::vector<std::string> cells(1);
  bool in_quotes = false;
  for (const char c : line) {
    if (c == '"') {
      in_quotes = !in_quotes;
    } else if (c == ',' && !in_quotes) {
      cells.emplace_back();
    } else if (c != '\r') {
      cells.back() += c;
    }
  }
  return cells;
}

inline std::vector<Row> read(const std::string& name) {
  std::ifstream file(std::string(FROSTCAL_TEST_DATA) + "/" + name);
  REQUIRE(file);
  std::string line;
  std::getline(file, line);
  const std::vector<std::string> head = split_csv(line);
  std::vector<Row> rows;
  while (std::getline(file, line)) {
    const std::vector<std::string> cells = split_csv(line);
    Row row;
    for (std::size_t i = 0; i < head.size(); ++i) row[head[i]] = i < cells.size() ? cells[i] : "";
    rows.push_back(row);
  }
  return rows;
}

/// Half a unit of the last digit of a decimal number.
inline double half_unit(const std::string& text) {
  const std::size_t point = text.find('.');
  const double digits = point == std::string::npos ? 0 : static_cast<double>(text.size() - point - 1);
  return 0.5 * std::pow(10.0, -digits);
}

/// Computed numbers to 1e-7, published ones to half a unit of their last digit or `published_tolerance` if
/// larger.
inline double tolerance(const Row& row, double published_tolerance = 0) {
  if (row.at("status") == "computed") return 1e-7;
  return std::max(1.01 * half_unit(row.at("value")), published_tolerance);
}

/// Compares every expected row of the case whose (item, quantity) is in `found`; returns how many were
/// compared.
inline int compare(const std::string& file, const std::string& name,
                   const std::map<std::pair<std::string, std::string>, double>& found,
                   double published_tolerance = 0) {
  int compared = 0;
  for (const Row& row : read(file)) {
    if (row.at("case") != name) continue;
    const auto value = found.find({row.at("item"), row.at("quantity")});
    if (value == found.end()) continue;
    INFO(name << " " << row.at("item") << " " << row.at("quantity") << " " << row.at("source"));
    CHECK_THAT(value->second,
               Catch::Matchers::WithinAbs(std::stod(row.at("value")), tolerance(row, published_tolerance)));
    ++compared;
  }
  return compared;
}

}  // namespace ordinal_table
