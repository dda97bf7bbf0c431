#include "shop/shop_command.hpp"

#include "textfile/shell_word.hpp"

namespace frostcal::shop {

std::string command_for(const std::filesystem::path& folder, const std::string& words) {
  const bool here = folder.empty() || folder == ".";
  return "frostcal " + words + (here ? "" : " --shop " + textfile::shell_word(folder.string()));
}

std::string command_for(const Shop& shop, const std::string& words) {
  return command_for(shop.folder, words);
}

std::string plan_command(const Shop& shop, const std::string& glass, const std::string& machine) {
  return command_for(shop, "plan " + glass + " --machine " + machine);
}

}  // namespace frostcal::shop
