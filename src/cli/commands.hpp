// One function for each command's row; each is defined in command_NAME.cpp.
#pragma once

#include "cli/command.hpp"

namespace frostcal::cli {

Command start_command();
Command plan_command();
Command sheet_command();
Command grade_command();
Command fit_command();
Command table_command();
Command table_show_command();
Command table_adopt_command();
Command table_history_command();
Command table_restore_command();
Command table_export_command();
Command table_card_command();
Command job_command();
Command log_command();
Command carry_command();
Command check_command();

}  // namespace frostcal::cli
