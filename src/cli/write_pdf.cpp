#include "cli/write_pdf.hpp"

#include "cli/output_file.hpp"
#include "cli/terminal.hpp"
#include "errors/user_error.hpp"
#include "sheet/pdf_writer.hpp"

namespace frostcal::cli {

void write_pdf(const std::string& file, const std::string& title, const std::vector<sheet::Page>& pages) {
  sheet::Document document;
  document.title = title;
  document.created_at = creation_time();
  document.pages = pages;
  const std::string bytes = sheet::to_pdf(document);
  write_output(file, {"a PDF", [](std::string_view beginning) { return beginning.substr(0, 4) == "%PDF"; }},
               bytes);
}

shop::Paper read_paper(const Arguments& arguments, shop::Paper usual) {
  if (!arguments.has("paper")) return usual;
  const std::string word = arguments.word("paper");
  if (word == "a4") return shop::Paper::a4;
  if (word == "letter") return shop::Paper::letter;
  throw UsageError("--paper: found " + errors::quoted(word) + ", expected a4 or letter");
}

}  // namespace frostcal::cli
