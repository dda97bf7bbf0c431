#include "cli/command_list.hpp"

#include "cli/commands.hpp"

namespace frostcal::cli {

const std::vector<Command>& command_list() {
  // clang-format off
  static const std::vector<Command> commands = {
      start_command(),
      plan_command(),
      sheet_command(),
      grade_command(),
      fit_command(),
      table_command(),
      table_show_command(),
      table_adopt_command(),
      table_history_command(),
      table_restore_command(),
      table_export_command(),
      table_card_command(),
      job_command(),
      log_command(),
      carry_command(),
      check_command(),
  };
  // clang-format on
  return commands;
}

}  // namespace frostcal::cli
