// A shop on the real disk with one grid of 120 swatches, made for tests.
#pragma once

#include <filesystem>

#include "design/grid_file.hpp"
#include "shop/shop_file.hpp"
#include "support/temporary_folder.hpp"
#include "textfile/durable_write.hpp"

namespace frostcal::test {

class SampleShop {
 public:
  SampleShop() {
    textfile::durable_write(folder_.path(), shop::shop_file(folder_.path()), shop::shop_template());
    shop_ = shop::read_shop(folder_.path());
    grid_.id = "0001-" + shop_.glasses.front().name;
    grid_.number = 1;
    grid_.glass = shop_.glasses.front().name;
    grid_.machine = shop_.machines.front().name;
    grid_.vessel = shop_.glasses.front().vessel;
    grid_.design = "lattice";
    grid_.tool_version = "0.1.0";
    grid_.planned_at = "2026-11-25T11:14:05Z";
    for (int row = 0; row < 10; ++row) {
      for (int place = 0; place < 12; ++place) {
        design::Swatch swatch;
        swatch.id = std::string(1, static_cast<char>('A' + row)) + std::to_string(place + 1);
        swatch.bottle = grid_.glass + "-1";
        swatch.x_mm = -33.0 + 6.0 * place;
        swatch.y_mm = 30.0 - 6.0 * row;
        swatch.width_mm = swatch.height_mm = 5;
        swatch.setting = {
            20.0 + 5 * row, 10.0 + 5 * place, 300, 100, shop_.machines.front().screens.front(), 1};
        grid_.swatches.push_back(swatch);
      }
    }
    design::write_grid(shop_, grid_);
    const design::GridFiles files = design::grid_files(shop_, grid_.id);
    const std::string smallest_pdf = "%PDF-1.4\nxref\nstartxref\n9\n%%EOF\n";  // whole, as far as check looks
    textfile::durable_write(folder(), files.burn_pdf, smallest_pdf);
    textfile::durable_write(folder(), files.run_pdf, smallest_pdf);
  }

  const std::filesystem::path& folder() const { return folder_.path(); }
  std::string option() const { return folder_.path().string(); }  // for --shop
  const shop::Shop& shop() const { return shop_; }
  const design::Grid& grid() const { return grid_; }
  std::filesystem::path results() const { return design::grades_file(shop_, grid_.id); }

 private:
  TemporaryFolder folder_;
  shop::Shop shop_;
  design::Grid grid_;
};

}  // namespace frostcal::test
