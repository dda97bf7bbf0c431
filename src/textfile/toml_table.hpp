// A TOML table read with checks: every wrong or unknown key becomes a fault with its line and column.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "errors/user_error.hpp"

namespace frostcal::textfile {

/// Reads one table. Ask for each key once; finish() then reports the keys nobody asked for, with the nearest
/// known one. Faults go to the list given at construction; a faulty value is returned as the fallback.
class TomlTable {
 public:
  /// What a value mostly is; one outside is taken, and doubted. `slips` are what a person may have meant
  /// instead: value times factor, in words ("in cm").
  struct Usual {
    double min;
    double max;
    std::vector<std::pair<double, std::string>> slips;
  };
  struct Bounds {
    double min;
    double max;
    std::string expected;  // "a power in W from 1 to 2000"
    std::optional<Usual> usual = std::nullopt;
  };

  /// Parses the text. Throws UserError with a hint when it is not TOML. Doubts go to `doubts`; null = nobody
  /// asks.
  static TomlTable parse(const std::string& text, const std::string& file, errors::FaultList& faults,
                         errors::FaultList* doubts = nullptr);

  TomlTable(TomlTable&&) noexcept;
  TomlTable& operator=(TomlTable&&) noexcept;
  ~TomlTable();

  /// A number inside the bounds. A missing key is a fault when there is no fallback.
  double number(const std::string& key, const Bounds& bounds, std::optional<double> fallback = std::nullopt);
  /// A whole number; 5.0 counts as 5.
  long integer(const std::string& key, const Bounds& bounds, std::optional<long> fallback = std::nullopt);
  /// A non-empty text; when `allowed` is not empty, one of them.
  std::string text(const std::string& key, const std::string& expected,
                   const std::vector<std::string>& allowed = {},
                   const std::optional<std::string>& fallback = std::nullopt);
  /// A non-empty list of numbers inside the bounds.
  std::vector<double> numbers(const std::string& key, const Bounds& each,
                              const std::optional<std::vector<double>>& fallback = std::nullopt);
  std::vector<std::string> texts(const std::string& key, const std::string& expected,
                                 const std::optional<std::vector<std::string>>& fallback = std::nullopt);
  /// A list of [a, b] pairs of numbers; empty when the key is missing.
  std::vector<std::pair<double, double>> pairs(const std::string& key, const std::string& expected);

  /// A sub-table; nothing when the key is missing (a fault when `required`).
  std::optional<TomlTable> table(const std::string& key, bool required, const std::string& expected);
  /// All tables of [[key]]; a single [key] is a fault that says so.
  std::vector<TomlTable> tables(const std::string& key, const std::string& expected);
  bool has(const std::string& key) const;
  bool holds_table(const std::string& key) const;

  /// Reports the keys that were never asked for.
  void finish();

  /// Adds a fault at the key, or at the table when the key is missing.
  void fault(const std::string& key, const std::string& found, const std::string& expected,
             const std::string& remedy = "");
  /// How many faults the whole file has so far.
  std::size_t fault_count() const;
  /// Adds a doubt there.
  void doubt(const std::string& key, const std::string& found, const std::string& expected,
             const std::string& remedy = "");

 private:
  errors::SourcePlace place(const std::string& key) const;
  void doubt_unusual(const std::string& key, double value, const Bounds& bounds);
  struct State;
  explicit TomlTable(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace frostcal::textfile
