#include "cli/write_pdf.hpp"

#include "cli/draw_sheets.hpp"
#include "sheet/pdf_writer.hpp"
#include "textfile/durable_write.hpp"

namespace frostcal::cli {

void write_pdf(const std::string& file, const std::string& title, const std::vector<sheet::Page>& pages) {
  sheet::Document document;
  document.title = title;
  document.created_at = creation_time();
  document.pages = pages;
  textfile::durable_write_anywhere(file, sheet::to_pdf(document));
}

}  // namespace frostcal::cli
