// Reading published data and expected values. Every row must have a source: in its own column `source`, or,
// for a file without one, in sources.csv.
#pragma once

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <map>
#include <string>
#include <vector>

namespace published_table {

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

inline std::vector<Row> read_rows(const std::string& name) {
  std::ifstream file(std::string(FROSTCAL_TEST_DATA) + "/" + name);
  INFO(name);
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

/// The source of a data file that has no column `source`; empty when it is not listed.
inline std::string source_of(const std::string& name) {
  for (const Row& row : read_rows("sources.csv")) {
    if (row.at("file") == name) return row.at("source");
  }
  return "";
}

/// Fails for a row without a source.
inline std::vector<Row> read(const std::string& name) {
  const std::vector<Row> rows = read_rows(name);
  REQUIRE_FALSE(rows.empty());
  INFO(name);
  if (rows.front().count("source") == 0) {
    INFO("no column source, and no line in sources.csv");
    REQUIRE_FALSE(source_of(name).empty());
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto source = rows[i].find("source");
    INFO("line " << i + 2);
    if (source != rows[i].end()) REQUIRE_FALSE(source->second.empty());
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

/// How near is near enough: computed numbers relative to their size, or to 1e-12 where that is more;
/// published ones to half a unit of their last digit, or to `published` where that is more.
struct Nearness {
  double computed = 1e-9;
  double published = 0;
};

/// Compares every expected row of the case; a row that is not in `found` fails, unless its quantity is in
/// `left_out`. Returns how many were compared.
inline int compare_every(const std::string& file, const std::string& name,
                         const std::map<std::pair<std::string, std::string>, double>& found,
                         const Nearness& nearness = {}, const std::vector<std::string>& left_out = {}) {
  int compared = 0;
  for (const Row& row : read(file)) {
    const std::string& quantity = row.at("quantity");
    if (row.at("case") != name) continue;
    if (std::find(left_out.begin(), left_out.end(), quantity) != left_out.end()) continue;
    const auto value = found.find({row.at("item"), quantity});
    INFO(name << " " << row.at("item") << " " << quantity << " " << row.at("status") << ": "
              << row.at("source"));
    if (value == found.end()) {
      FAIL_CHECK("nothing to compare it with");
      continue;
    }
    const double expected = std::stod(row.at("value"));
    const double near = row.at("status") == "computed"
                            ? std::max(1e-12, nearness.computed * std::abs(expected))
                            : std::max(1.01 * half_unit(row.at("value")), nearness.published);
    CHECK_THAT(value->second, Catch::Matchers::WithinAbs(expected, near));
    ++compared;
  }
  return compared;
}

}  // namespace published_table
