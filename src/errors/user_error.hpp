// A wrong file or value that a person can mend: where it is, what was found, what was expected, what to do.
#pragma once

#include <exception>
#include <string>
#include <vector>

#include "errors/source_place.hpp"

namespace frostcal::errors {

/// One fault. `found`, `expected` and `remedy` are phrases without a final full stop; any may be empty.
/// `rows_alike` counts further rows of the file with the same fault.
struct Fault {
  SourcePlace place;
  std::string found;
  std::string expected;
  std::string remedy;
  int rows_alike = 0;
};

/// "file:line:column: field: found X (and 3 later rows like it), expected Y; remedy". Unknown parts are left
/// out.
/// The prefix is the form that editors understand (GNU Coding Standards, "Formatting Error Messages").
std::string to_text(const Fault& fault);

/// Thrown when a file or value given by the user is wrong; carries every fault found in it.
class UserError : public std::exception {
 public:
  explicit UserError(Fault fault);
  /// faults must not be empty. The text shows at most 20 of them and says how many more there are.
  explicit UserError(std::vector<Fault> faults);

  const char* what() const noexcept override { return text_.c_str(); }
  const std::vector<Fault>& faults() const noexcept { return faults_; }

 private:
  std::vector<Fault> faults_;
  std::string text_;
};

/// Gathers the faults of one file so that all are reported at once.
class FaultList {
 public:
  void add(Fault fault) { faults_.push_back(std::move(fault)); }
  /// The same for a fault that a whole column of a file may have: the first row's alone is kept, with the
  /// count of the others that expect the same and have the same remedy.
  void add_to_column(Fault fault);
  bool empty() const { return faults_.empty(); }
  /// Of all that were added, those of a column one by one.
  std::size_t count() const;
  const std::vector<Fault>& faults() const { return faults_; }
  /// Throws UserError when anything was gathered.
  void throw_if_any() const;

 private:
  std::vector<Fault> faults_;
};

/// The text in double quotes, control characters shown as \xNN, cut after 60 characters.
std::string quoted(const std::string& text);

/// The member of `known` that is nearest to `word` (at most 2 slips, in a word of fewer than 5 letters 1, and
/// fewer than it has letters; ASCII case aside), else the one member that begins with `word`, or an empty
/// string. A slip is a letter too many, missing, wrong, or swapped with its neighbour.
std::string nearest(const std::string& word, const std::vector<std::string>& known);

}  // namespace frostcal::errors
