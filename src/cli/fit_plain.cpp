#include <algorithm>
#include <ostream>
#include <sstream>

#include "cli/fit_classical.hpp"
#include "errors/user_error.hpp"
#include "report/plain_text.hpp"
#include "surface/plain_ordinal.hpp"
#include "textfile/open_file.hpp"
#include "textfile/read_file.hpp"

namespace frostcal::cli {

namespace {

std::vector<std::string> split(const std::string& text) {
  std::vector<std::string> parts;
  std::istringstream stream(text);
  for (std::string part; std::getline(stream, part, ',');) parts.push_back(part);
  return parts;
}

surface::PlainColumns read_columns(const Arguments& arguments) {
  surface::PlainColumns columns;
  columns.grade = arguments.text("grade");
  if (columns.grade.empty()) throw UsageError("--plain needs --grade COLUMN, the column with the grades");
  for (const std::string& list : arguments.all("by")) {
    for (const std::string& name : split(list)) columns.by.push_back(name);
  }
  if (columns.by.empty())
    throw UsageError("--plain needs --by COLUMN[,COLUMN...], what the grade may depend on");
  columns.weight = arguments.text("weight");
  for (const std::string& text : arguments.all("reference")) {
    const std::size_t equals = text.find('=');
    const std::string column = text.substr(0, equals);
    if (equals == std::string::npos ||
        std::find(columns.by.begin(), columns.by.end(), column) == columns.by.end()) {
      throw UsageError("--reference: found " + errors::quoted(text) +
                       ", expected COLUMN=LEVEL with a column of --by");
    }
    columns.reference[column] = text.substr(equals + 1);
  }
  std::vector<std::string> used = columns.by;
  used.push_back(columns.grade);
  if (!columns.weight.empty()) used.push_back(columns.weight);
  std::sort(used.begin(), used.end());
  const auto twice = std::adjacent_find(used.begin(), used.end());
  if (twice != used.end()) {
    throw UsageError("the column " + errors::quoted(*twice) +
                     " is named twice; --grade, --by and --weight take different ones");
  }
  return columns;
}

surface::Link read_link(const Arguments& arguments) {
  const std::string word = arguments.word("link", "probit");
  if (word == "probit") return surface::Link::probit;
  if (word == "logit") return surface::Link::logit;
  throw UsageError("--link: found " + errors::quoted(word) + ", expected probit or logit");
}

}  // namespace

ExitStatus fit_plain(const Arguments& arguments, const Streams& streams) {
  const surface::PlainColumns columns = read_columns(arguments);
  const surface::Link link = read_link(arguments);
  if (!arguments.operands.empty()) {
    throw UsageError("--plain fits a file and takes no GLASS; found " +
                     errors::quoted(arguments.operands.front()));
  }
  const std::string file = arguments.text("plain");
  errors::FaultList faults;
  const surface::PlainOrdinal data =
      surface::parse_plain(textfile::read_file("", file), textfile::shown(file), columns, faults);
  faults.throw_if_any();
  const surface::PlainFit fit = surface::fit_plain(data, link);
  streams.out << (arguments.has("json") ? report::plain_json(data, fit, link)
                                        : report::plain_text(data, fit, link));
  return fit.separated ? ExitStatus::no : ExitStatus::done;
}

}  // namespace frostcal::cli
