#include "cli/write_pdf.hpp"

#include <cstdlib>

#include "sheet/pdf_writer.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/number_text.hpp"

namespace frostcal::cli {

void write_pdf(const std::string& file, const std::string& title, const std::vector<sheet::Page>& pages) {
  sheet::Document document;
  document.title = title;
  const char* epoch = std::getenv("SOURCE_DATE_EPOCH");
  const auto seconds = epoch == nullptr ? std::nullopt : textfile::parse_integer(epoch);
  if (seconds && *seconds >= 0) document.created_at = *seconds;
  document.pages = pages;
  textfile::durable_write_anywhere(file, sheet::to_pdf(document));
}

}  // namespace frostcal::cli
