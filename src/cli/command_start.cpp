#include <filesystem>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/terminal.hpp"
#include "errors/user_error.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "textfile/durable_write.hpp"
#include "textfile/read_file.hpp"
#include "textfile/shell_word.hpp"
#include "textfile/shop_path.hpp"

namespace frostcal::cli {

namespace {

ExitStatus run_start(const Arguments& arguments, const Streams& streams) {
  if (arguments.has("shop")) {
    throw UsageError(
        "--shop names a shop that is there; start makes a new one in the folder named without it: " +
        std::string("frostcal start ") + textfile::shell_word(arguments.shop));
  }
  const std::filesystem::path folder = arguments.operands.at(0);
  const std::filesystem::path file = shop::shop_file(folder);
  if (textfile::exists(file)) {
    throw errors::UserError(errors::Fault{
        {file.string(), 0, 0, ""},
        "a shop that is already there",
        "a new folder",
        "name another folder, or work on this one with --shop " + textfile::shell_word(folder.string())});
  }
  const InterruptDelay delay;
  if (!textfile::exists(folder)) textfile::make_folders("", folder);
  textfile::make_folders(folder, folder / "results");
  const std::filesystem::path ignore = folder / ".gitignore";
  if (!textfile::exists(ignore)) textfile::durable_write(folder, ignore, shop::gitignore_template());
  textfile::durable_write(folder, file, shop::shop_template());
  streams.out << "Made the shop folder " << folder.string() << ".\n"
              << "Next: describe your laser, bottles and glasses in " << file.string() << ",\n"
              << "see whether it can be read:  " << shop::command_for(folder, "check") << "\n"
              << "and plan the first grid:  " << shop::command_for(folder, "plan GLASS") << "\n";
  return ExitStatus::done;
}

}  // namespace

Command start_command() {
  return {
      "start",
      "DIR",
      1,
      1,
      "make a shop folder with a commented shop.toml",
      "Makes DIR with the folders grids/ and results/, a shop.toml whose comments explain every line, and "
      "a .gitignore for what no other copy of the shop needs. Nothing that is already there is replaced. "
      "--shop "
      "is refused: DIR says where.",
      {},
      run_start};
}

}  // namespace frostcal::cli
