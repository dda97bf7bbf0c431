#include "textfile/toml_table.hpp"

#include "errors/ascii.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"
#include "textfile/text_place.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <locale>
#include <sstream>
#include <string_view>

namespace frostcal::textfile {

using errors::Fault;
using errors::SourcePlace;
using errors::UserError;

struct TomlTable::State {
  std::shared_ptr<toml::table> root;  // keeps every node alive
  const toml::table* table = nullptr;
  std::string file;
  std::string path;  // "machine." or empty
  errors::FaultList* faults = nullptr;
  errors::FaultList* doubts = nullptr;
  std::vector<std::string> asked;
  SourcePlace own_place;
};

namespace {

// What stands in the file, in a few words.
std::string shown(const toml::node& node) {
  if (const auto* text = node.as_string()) return errors::quoted(text->get());
  if (node.is_table()) return "a table";
  if (node.is_array()) return "a list";
  std::ostringstream out;
  out.imbue(std::locale::classic());
  node.visit([&](const auto& value) {
    using Node = std::remove_cv_t<std::remove_reference_t<decltype(value)>>;
    if constexpr (toml::is_floating_point<Node>) {
      std::array<char, 32> shortest{};  // toml++ writes 8.8 as 8.8000000000000007
      out << std::string_view(shortest.data(),
                              std::to_chars(shortest.begin(), shortest.end(), *value).ptr - shortest.data());
    } else if constexpr (toml::is_value<Node>) {
      out << value;
    }
  });
  return out.str();
}

SourcePlace place_of(const std::string& file, const toml::source_region& region, const std::string& field) {
  return {file, static_cast<int>(region.begin.line), static_cast<int>(region.begin.column), field};
}

std::string line_text(const std::string& text, int wanted) {
  std::istringstream lines(text);
  std::string line;
  for (int i = 0; i < wanted; ++i) {
    if (!std::getline(lines, line)) return "";
  }
  if (!line.empty() && line.back() == '\r') line.pop_back();
  return line;
}

bool has_open_quote(const std::string& line) {
  bool open = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (line[i] == '#' && !open) break;
    if (line[i] == '"' && (i == 0 || line[i - 1] != '\\')) open = !open;
  }
  return open;
}

// toml++ speaks to programmers; these are the slips that people make.
std::string syntax_remedy(const std::string& line) {
  if (line.find("\xE2\x80\x9C") != std::string::npos || line.find("\xE2\x80\x9D") != std::string::npos) {
    return "use straight quotes \"...\" instead of curly ones";
  }
  if (has_open_quote(line)) return "add the missing \" at the end of the text";
  const std::size_t equals = line.find('=');
  if (equals == std::string::npos) return "write key = value, or start a comment with #";
  const std::string value = line.substr(equals + 1);
  const std::size_t first = value.find_first_not_of(" \t");
  if (first == std::string::npos) return "write a value after the equals sign";
  for (std::size_t i = 1; i + 1 < value.size(); ++i) {
    const bool in_list = value[first] == '[' || value[first] == '{';
    if (!in_list && value[i] == ',' && errors::is_digit(value[i - 1]) && errors::is_digit(value[i + 1])) {
      return "write decimals with a point: 12.5, not 12,5";
    }
  }
  if (value[first] == '.') return "write a zero before the decimal point: 0.5";
  if (value[first] == '0' && first + 1 < value.size() && errors::is_digit(value[first + 1])) {
    return "write the number without leading zeros";
  }
  if (errors::is_letter(value[first])) return "put text between double quotes";
  const std::size_t behind = value.find_first_not_of("0123456789.-+", first);
  const bool unit = behind != std::string::npos && behind > first &&
                    (errors::is_letter(value[behind]) || value[behind] == '%' || value[behind] == '"');
  if (unit) return "write the number alone, without its unit: " + value.substr(first, behind - first);
  return "compare the line with a fresh file from 'frostcal start'";
}

}  // namespace

TomlTable::TomlTable(std::unique_ptr<State> state) : state_(std::move(state)) {}
TomlTable::TomlTable(TomlTable&&) noexcept = default;
TomlTable& TomlTable::operator=(TomlTable&&) noexcept = default;
TomlTable::~TomlTable() = default;

TomlTable TomlTable::parse(const std::string& text, const std::string& file, errors::FaultList& faults,
                           errors::FaultList* doubts) {
  auto state = std::make_unique<State>();
  try {
    state->root = std::make_shared<toml::table>(toml::parse(text, file));
  } catch (const toml::parse_error& error) {
    if (const std::optional<Fault> merge = unfinished_merge(text, file)) throw UserError(*merge);
    const std::string found = line_text(text, static_cast<int>(error.source().begin.line));
    throw UserError(Fault{place_of(file, error.source(), ""), errors::quoted(found),
                          has_open_quote(found) ? "text between two double quotes"
                                                : "TOML (" + std::string(error.description()) + ")",
                          syntax_remedy(found)});
  }
  state->table = state->root.get();
  state->file = file;
  state->faults = &faults;
  state->doubts = doubts;
  state->own_place = {file, 1, 1, ""};
  return TomlTable(std::move(state));
}

SourcePlace TomlTable::place(const std::string& key) const {
  const std::string field = state_->path + key;
  if (const toml::node* node = state_->table->get(key)) return place_of(state_->file, node->source(), field);
  SourcePlace place = state_->own_place;
  place.field = field;
  return place;
}

void TomlTable::fault(const std::string& key, const std::string& found, const std::string& expected,
                      const std::string& remedy) {
  state_->faults->add({place(key), found, expected, remedy});
}

std::size_t TomlTable::fault_count() const {
  return state_->faults->count();
}

void TomlTable::doubt(const std::string& key, const std::string& found, const std::string& expected,
                      const std::string& remedy) {
  if (state_->doubts != nullptr) state_->doubts->add({place(key), found, expected, remedy});
}

namespace {

/// "was it meant in cm, which is 95, or in inches, which is 241.3?"; empty when no slip of the unit explains
/// it.
std::string meant_by(double value, const TomlTable::Usual& usual) {
  std::string meant;
  for (const auto& [factor, words] : usual.slips) {
    const double other = value * factor;
    if (other < usual.min || other > usual.max) continue;
    meant += (meant.empty() ? "was it meant " : ", or ") + words + ", which is " + format_number(other);
  }
  return meant.empty() ? "" : meant + '?';
}

}  // namespace

void TomlTable::doubt_unusual(const std::string& key, double value, const Bounds& bounds) {
  if (!bounds.usual) return;
  const Usual& usual = *bounds.usual;
  if (value >= usual.min && value <= usual.max) return;
  const std::string meant = meant_by(value, usual);
  doubt(key, format_number(value),
        format_number(usual.min) + " to " + format_number(usual.max) +
            " as a rule (common practice, no source)",
        (meant.empty() ? "is it a slip?" : meant) + " If it is right, leave it");
}

bool TomlTable::has(const std::string& key) const {
  return state_->table->contains(key);
}

bool TomlTable::holds_table(const std::string& key) const {
  const toml::node* node = state_->table->get(key);
  return node != nullptr && node->is_table();
}

double TomlTable::number(const std::string& key, const Bounds& bounds, std::optional<double> fallback) {
  state_->asked.push_back(key);
  const toml::node* node = state_->table->get(key);
  if (node == nullptr) {
    if (!fallback) fault(key, "no value", bounds.expected, "add the line " + key + " = ...");
    return fallback.value_or(bounds.min);
  }
  const std::optional<double> value = node->is_number() ? node->value<double>() : std::nullopt;
  if (!value || !std::isfinite(*value) || *value < bounds.min || *value > bounds.max) {
    std::string remedy = node->is_string() ? "write the number alone, without quotes and unit" : "";
    if (value && std::isfinite(*value) && bounds.usual) remedy = meant_by(*value, *bounds.usual);
    fault(key, shown(*node), bounds.expected, remedy);
    return fallback.value_or(bounds.min);
  }
  doubt_unusual(key, *value, bounds);
  return *value;
}

long TomlTable::integer(const std::string& key, const Bounds& bounds, std::optional<long> fallback) {
  std::optional<double> as_double;
  if (fallback) as_double = static_cast<double>(*fallback);
  const double value = number(key, bounds, as_double);
  if (value != std::floor(value)) {
    fault(key, shown(*state_->table->get(key)), bounds.expected, "write a whole number");
    return fallback.value_or(static_cast<long>(bounds.min));
  }
  return static_cast<long>(value);
}

std::string TomlTable::text(const std::string& key, const std::string& expected,
                            const std::vector<std::string>& allowed,
                            const std::optional<std::string>& fallback) {
  state_->asked.push_back(key);
  const toml::node* node = state_->table->get(key);
  if (node == nullptr) {
    if (!fallback) fault(key, "no value", expected, "add the line " + key + " = \"...\"");
    return fallback.value_or("");
  }
  const auto* value = node->as_string();
  if (value == nullptr || value->get().empty()) {
    fault(key, shown(*node), expected, value == nullptr ? "put the text between double quotes" : "");
    return fallback.value_or("");
  }
  if (allowed.empty()) return value->get();
  if (std::find(allowed.begin(), allowed.end(), value->get()) != allowed.end()) return value->get();
  const std::string near = errors::nearest(value->get(), allowed);
  fault(key, shown(*node), expected, near.empty() ? "write one of these" : "did you mean \"" + near + "\"?");
  return fallback.value_or(allowed.front());
}

std::vector<double> TomlTable::numbers(const std::string& key, const Bounds& each,
                                       const std::optional<std::vector<double>>& fallback) {
  state_->asked.push_back(key);
  const toml::node* node = state_->table->get(key);
  if (node == nullptr) {
    if (!fallback) fault(key, "no value", each.expected, "add the line " + key + " = [...]");
    return fallback.value_or(std::vector<double>{});
  }
  const auto* list = node->as_array();
  if (list == nullptr || list->empty()) {
    fault(key, list == nullptr ? shown(*node) : "an empty list", each.expected,
          "write " + key + " = [..., ...]");
    return fallback.value_or(std::vector<double>{});
  }
  std::vector<double> values;
  for (const toml::node& item : *list) {
    const std::optional<double> value = item.is_number() ? item.value<double>() : std::nullopt;
    if (!value || !std::isfinite(*value) || *value < each.min || *value > each.max) {
      state_->faults->add(
          {place_of(state_->file, item.source(), state_->path + key), shown(item), each.expected, ""});
    } else {
      values.push_back(*value);
      doubt_unusual(key, *value, each);
    }
  }
  return values;
}

std::vector<std::string> TomlTable::texts(const std::string& key, const std::string& expected,
                                          const std::optional<std::vector<std::string>>& fallback) {
  state_->asked.push_back(key);
  const toml::node* node = state_->table->get(key);
  if (node == nullptr) {
    if (!fallback) fault(key, "no value", expected, "add the line " + key + " = [\"...\"]");
    return fallback.value_or(std::vector<std::string>{});
  }
  const auto* list = node->as_array();
  if (list == nullptr) {
    fault(key, shown(*node), expected, "write " + key + " = [\"...\", \"...\"]");
    return fallback.value_or(std::vector<std::string>{});
  }
  std::vector<std::string> values;
  for (const toml::node& item : *list) {
    const auto* value = item.as_string();
    if (value == nullptr || value->get().empty()) {
      state_->faults->add(
          {place_of(state_->file, item.source(), state_->path + key), shown(item), expected, ""});
    } else {
      values.push_back(value->get());
    }
  }
  return values;
}

std::vector<std::pair<double, double>> TomlTable::pairs(const std::string& key, const std::string& expected) {
  state_->asked.push_back(key);
  std::vector<std::pair<double, double>> values;
  const toml::node* node = state_->table->get(key);
  if (node == nullptr) return values;
  const auto* list = node->as_array();
  if (list == nullptr) {
    fault(key, shown(*node), expected);
    return values;
  }
  for (const toml::node& item : *list) {
    const auto* pair = item.as_array();
    std::optional<double> first;
    std::optional<double> second;
    if (pair != nullptr && pair->size() == 2 && (*pair)[0].is_number() && (*pair)[1].is_number()) {
      first = (*pair)[0].value<double>();
      second = (*pair)[1].value<double>();
    }
    if (!first || !second || !std::isfinite(*first) || !std::isfinite(*second)) {
      state_->faults->add(
          {place_of(state_->file, item.source(), state_->path + key), shown(item), expected, ""});
    } else {
      values.emplace_back(*first, *second);
    }
  }
  return values;
}

namespace {

// The state of a table below `parent`.
template <typename State>
std::unique_ptr<State> below(const State& parent, const toml::table& inner, const std::string& key) {
  auto state = std::make_unique<State>();
  state->root = parent.root;
  state->table = &inner;
  state->file = parent.file;
  state->path = parent.path + key + '.';
  state->faults = parent.faults;
  state->doubts = parent.doubts;
  state->own_place = place_of(parent.file, inner.source(), "");
  return state;
}

}  // namespace

std::optional<TomlTable> TomlTable::table(const std::string& key, bool required,
                                          const std::string& expected) {
  state_->asked.push_back(key);
  const toml::node* node = state_->table->get(key);
  if (node == nullptr) {
    if (required) fault(key, "nothing", expected, "add a [" + state_->path + key + "] section");
    return std::nullopt;
  }
  if (const auto* inner = node->as_table()) return TomlTable(below(*state_, *inner, key));
  fault(key, shown(*node), expected);
  return std::nullopt;
}

std::vector<TomlTable> TomlTable::tables(const std::string& key, const std::string& expected) {
  state_->asked.push_back(key);
  std::vector<TomlTable> found;
  const toml::node* node = state_->table->get(key);
  if (node == nullptr) return found;
  const auto* list = node->as_array();
  if (list == nullptr) {
    fault(key, shown(*node), expected, "write [[" + key + "]] with two brackets");
    return found;
  }
  for (const toml::node& item : *list) {
    if (const auto* inner = item.as_table()) {
      found.push_back(TomlTable(below(*state_, *inner, key)));
    } else {
      state_->faults->add({place_of(state_->file, item.source(), key), shown(item), expected, ""});
    }
  }
  return found;
}

void TomlTable::finish() {
  for (const auto& [key, node] : *state_->table) {
    const std::string name(key.str());
    if (std::find(state_->asked.begin(), state_->asked.end(), name) != state_->asked.end()) continue;
    const std::string near = errors::nearest(name, state_->asked);
    state_->faults->add({place_of(state_->file, key.source(), state_->path + name), "an unknown key",
                         "one of " + joined(state_->asked),
                         near.empty() ? "remove the line" : "did you mean " + near + "?"});
  }
}

}  // namespace frostcal::textfile
