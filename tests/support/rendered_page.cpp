#include "support/rendered_page.hpp"

#include <sys/wait.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <sstream>
#include <stdexcept>

#include "support/temporary_folder.hpp"
#include "support/text_file.hpp"

namespace frostcal::test {
namespace {

Answer run(const std::string& command) {
  std::FILE* pipe = ::popen((command + " 2>&1").c_str(), "r");
  if (pipe == nullptr) throw std::runtime_error("popen: " + command);
  Answer answer;
  char buffer[4096];
  for (std::size_t n = 0; (n = std::fread(buffer, 1, sizeof buffer, pipe)) > 0;)
    answer.output.append(buffer, n);
  const int status = ::pclose(pipe);
  answer.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  return answer;
}

std::filesystem::path saved(const TemporaryFolder& folder, const std::string& pdf) {
  const std::filesystem::path file = folder.path() / "page.pdf";
  std::ofstream(file, std::ios::binary) << pdf;
  return file;
}

Raster read_ppm(const std::string& text) {
  std::istringstream in(text);
  std::string magic;
  int largest = 0;
  Raster raster;
  in >> magic >> raster.columns >> raster.rows >> largest;
  in.get();
  if (magic != "P6" || largest != 255) throw std::runtime_error("renderer wrote no colour picture");
  raster.bytes.assign(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
  return raster;
}

}  // namespace

std::array<int, 3> Raster::at(int column, int row) const {
  const auto i = 3 * (static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
                      static_cast<std::size_t>(column));
  return {bytes.at(i), bytes.at(i + 1), bytes.at(i + 2)};
}

std::array<int, 3> Raster::at_mm(double x_mm, double y_mm, double dpi) const {
  const double per_mm = dpi / 25.4;
  return at(static_cast<int>(x_mm * per_mm), rows - 1 - static_cast<int>(y_mm * per_mm));
}

Raster render(Renderer renderer, const std::string& pdf, int page, int dpi) {
  const TemporaryFolder folder;
  const std::string file = saved(folder, pdf).string();
  const std::string picture = (folder.path() / "picture").string();
  const std::string number = std::to_string(page);
  const std::string resolution = std::to_string(dpi);
  const std::string command = renderer == Renderer::poppler
                                  ? "pdftoppm -aa no -aaVector no -singlefile -f " + number + " -l " +
                                        number + " -r " + resolution + " " + file + " " + picture
                                  : "mutool draw -A 0 -c rgb -F ppm -r " + resolution + " -o " + picture +
                                        ".ppm " + file + " " + number;
  const Answer answer = run(command);
  if (answer.status != 0) throw std::runtime_error(command + ": " + answer.output);
  return read_ppm(test::read_text(picture + ".ppm"));
}

Answer ask(const std::string& command, const std::string& pdf) {
  const TemporaryFolder folder;
  const std::string file = saved(folder, pdf).string();
  std::string full = command;
  const std::size_t at = full.find("FILE");
  if (at != std::string::npos) full.replace(at, 4, file);
  return run(full);
}

}  // namespace frostcal::test
