#include "cli/manual_text.hpp"

#include <algorithm>
#include <sstream>

#include "cli/command_list.hpp"
#include "cli/parse_arguments.hpp"
#include "errors/ascii.hpp"
#include "textfile/phrases.hpp"
#include "textfile/shell_word.hpp"
#include "textfile/wrapped_text.hpp"

namespace frostcal::cli {

namespace {

// Text of a line: backslashes, and a dot or quote at the start, mean something to roff; "-" is a hyphen
// there.
std::string roff(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '\\') {
      out += "\\e";
    } else if (c == '-') {
      out += "\\-";
    } else {
      out += c;
    }
  }
  return !out.empty() && (out[0] == '.' || out[0] == '\'') ? "\\&" + out : out;
}

// Source lines stay under 80 bytes, as mandoc likes them, with room for escapes.
std::string roff_lines(const std::string& paragraph) {
  std::istringstream lines(textfile::wrapped(paragraph, 70, 0));
  std::string out;
  for (std::string line; std::getline(lines, line);) out += roff(line) + '\n';
  return out;
}

std::string roff_paragraphs(const std::string& manual) {
  std::string out;
  for (const std::string& paragraph : paragraphs(manual)) {
    out += (out.empty() ? "" : ".PP\n") + roff_lines(paragraph);
  }
  return out;
}

std::string heading(const std::string& name, const std::string& version, const std::string& date) {
  return ".TH " + roff(errors::to_upper(name)) + " 1 " + date + " \"frostcal " + version +
         "\" \"User Commands\"\n";
}

const char* const kExitStatus =
    ".SH EXIT STATUS\n"
    ".TP\n.B 0\ndone\n"
    ".TP\n.B 1\nthe honest answer is no\n"
    ".TP\n.B 2\ntrouble: wrong command line, wrong file or value, or the file system refuses\n"
    ".TP\n.B 70\na fault of frostcal\n"
    ".TP\n.B 130\nended by Ctrl-C, as a shell shows it\n";

bool starts_with(const std::string& text, const std::string& start) {
  return text.rfind(start, 0) == 0;
}

// What completes an option's value or an operand: "glass", "machine", "vessel", "grid", "folder", "file" or
// "".
std::string value_kind(const std::string& option, const std::string& argument) {
  if (option == "machine" || option == "to" || option == "from")
    return argument == "FILE" ? "file" : "machine";
  if (option == "vessel") return "vessel";
  if (argument.find("GLASS") != std::string::npos) return "glass";
  if (argument.find("GRID") != std::string::npos) return "grid";
  if (argument == "DIR") return "folder";
  if (starts_with(argument, "FILE")) return "file";
  return "";
}

// Words of shop.toml and folder names, for both shells.
const char* const kShellNames =
    "# _frostcal_names glass|machine|vessel|grid   names in the shop of the command line\n"
    "_frostcal_names() {\n"
    "  if [ \"$1\" = grid ]; then\n"
    "    ( cd \"$_frostcal_shop/grids\" 2>/dev/null && ls -d [0-9]*/ 2>/dev/null | tr -d / | grep -x "
    "'[A-Za-z0-9_-]*' )\n"
    "  else\n"
    "    awk -v section=\"[[$1]]\" '/^ *\\[/ { on = ($1 == section) }\n"
    "      on && /^ *name *=/ { split($0, part, /[\"\\047]/)\n"
    "        if (part[2] ~ /^[A-Za-z0-9_-]+$/) print part[2] }' \\\n"
    "      \"$_frostcal_shop/grids/shop.toml\" 2>/dev/null\n"
    "  fi\n"
    "}\n\n";

std::string bash_action(const std::string& kind) {
  if (kind == "folder") return "_frostcal_paths -d \"$word\"";
  if (kind == "file") return "_frostcal_paths -f \"$word\"";
  if (kind.empty()) return "COMPREPLY=()";
  return "COMPREPLY=($(compgen -W \"$(_frostcal_names " + kind + ")\" -- \"$word\"))";
}

std::string zsh_action(const std::string& kind) {
  if (kind == "folder") return "_files -/";
  if (kind == "file") return "_files";
  if (kind.empty()) return " ";
  return "_frostcal_" + kind;
}

// Inside a specification of _arguments, ":" and brackets end a part.
std::string zsh_text(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == ':' || c == '[' || c == ']' || c == '\\') out += '\\';
    out += c;
  }
  return out;
}

std::string zsh_option(const OptionText& option) {
  std::string spec = std::string(option.repeatable ? "*" : "") + "--" + option.name +
                     (option.argument.empty() ? "" : "=") + '[' + zsh_text(option.text) + ']';
  if (!option.argument.empty())
    spec += ':' + zsh_text(option.argument) + ':' + zsh_action(value_kind(option.name, option.argument));
  return textfile::single_quoted(spec);
}

// The words that may follow `frostcal` (first), or `frostcal table` (second).
std::vector<std::string> first_words() {
  std::vector<std::string> words;
  for (const Command& command : command_list()) {
    const std::string word = command.name.substr(0, command.name.find(' '));
    if (std::find(words.begin(), words.end(), word) == words.end()) words.push_back(word);
  }
  return words;
}

std::vector<const Command*> subcommands(const std::string& first) {
  std::vector<const Command*> found;
  for (const Command& command : command_list()) {
    if (starts_with(command.name, first + ' ')) found.push_back(&command);
  }
  return found;
}

const Command* command_named(const std::string& name) {
  for (const Command& command : command_list()) {
    if (command.name == name) return &command;
  }
  return nullptr;
}

std::string bash_case(const Command& command) {
  std::string options;
  std::string values;
  for (const OptionText& option : all_options(command)) {
    options += (options.empty() ? "--" : " --") + option.name;
    if (!option.argument.empty()) {
      values += "        --" + option.name + ") " + bash_action(value_kind(option.name, option.argument)) +
                "; return ;;\n";
    }
  }
  return "    " + textfile::single_quoted(command.name) + ")\n      case $before in\n" + values +
         "      esac\n" + "      if [[ $word == -* ]]; then\n        COMPREPLY=($(compgen -W " +
         textfile::single_quoted(options) + " -- \"$word\"))\n      else\n        " +
         bash_action(value_kind("", command.operands)) + "\n      fi\n      ;;\n";
}

std::string zsh_case(const Command& command) {
  std::string out = "    " + textfile::single_quoted(command.name) + ")\n      _arguments";
  for (const OptionText& option : all_options(command)) out += " \\\n        " + zsh_option(option);
  if (!command.operands.empty()) {
    out += " \\\n        " + textfile::single_quoted(std::string(command.max_operands < 0 ? "*:" : "1:") +
                                                     zsh_text(command.operands) + ':' +
                                                     zsh_action(value_kind("", command.operands)));
  }
  return out + "\n      ;;\n";
}

}  // namespace

std::string manual_name(const Command& command) {
  std::string name = "frostcal-" + command.name;
  std::replace(name.begin(), name.end(), ' ', '-');
  return name;
}

std::string manual_page(const Command& command, const std::string& version, const std::string& date) {
  std::string page = heading(manual_name(command), version, date);
  page += ".SH NAME\n" + roff(manual_name(command)) + " \\- " + roff(command.summary) + '\n';
  page += ".SH SYNOPSIS\n.B frostcal " + roff(command.name) + '\n';
  if (!command.operands.empty()) page += ".I " + roff(command.operands) + '\n';
  page += "[options]\n.SH DESCRIPTION\n" + roff_paragraphs(command.manual) + ".SH OPTIONS\n";
  for (const OptionText& option : all_options(command)) {
    page += ".TP\n.BR \\-\\-" + roff(option.name);
    if (!option.argument.empty()) page += " \" \\fI" + roff(option.argument) + "\\fR\"";
    page += '\n' + roff_lines(option.text);
  }
  return page + kExitStatus + ".SH SEE ALSO\n.BR frostcal (1)\n";
}

std::string overview_page(const std::string& version, const std::string& date) {
  std::string page = heading("frostcal", version, date);
  page +=
      ".SH NAME\nfrostcal \\- test grids and settings tables for frosting glass with a CO2 laser\n"
      ".SH SYNOPSIS\n.B frostcal\n.I COMMAND\n[what it is about] [options]\n"
      ".SH DESCRIPTION\n"
      "Finds the laser setting that frosts a glass evenly without chipping: plans test grids on scrap\n"
      "bottles, takes the operator's grades, fits, and keeps the settings table.\n"
      ".SH OPTIONS\n"
      ".TP\n.BR \\-\\-shop \" \\fIDIR\\fR\"\nthe shop folder, also behind the command (default: the current "
      "folder)\n"
      ".TP\n.B \\-\\-help\nlist the commands; behind one, explain it\n"
      ".TP\n.B \\-\\-version\nprint the version\n"
      ".SH COMMANDS\n";
  for (const Command& command : command_list())
    page += ".TP\n.B " + roff(command.name) + '\n' + roff_lines(command.summary);
  page +=
      ".SH FILES\nThe shop is a folder: grids/shop.toml describes it, grids/ holds what was planned, "
      "results/\n"
      "the grades, the pieces and the settings table.\n"
      ".SH ENVIRONMENT\n.TP\n.B SOURCE_DATE_EPOCH\nthe time to write into files in place of the clock's, in "
      "seconds\n";
  page += kExitStatus;
  page += ".SH SEE ALSO\n";
  const std::vector<Command>& commands = command_list();
  for (std::size_t i = 0; i < commands.size(); ++i) {
    page += ".BR " + roff(manual_name(commands[i])) + (i + 1 < commands.size() ? " (1),\n" : " (1)\n");
  }
  return page;
}

std::string bash_completion() {
  std::string out = "# bash completion for frostcal; made at build from its command rows.\n\n";
  out += kShellNames;
  out +=
      "# _frostcal_bare WORD   as the shell takes it, written into _frostcal_word\n"
      "_frostcal_bare() {\n"
      "  _frostcal_word=${1//\\\\\\'/$'\\001'}\n"
      "  _frostcal_word=${_frostcal_word//[\\\\\\\"\\']/}\n"
      "  _frostcal_word=${_frostcal_word//$'\\001'/\\'}\n"
      "  case $_frostcal_word in '~' | '~/'*) _frostcal_word=$HOME${_frostcal_word:1} ;; esac\n"
      "}\n\n"
      "# _frostcal_paths -d|-f WORD   folders or files, with blanks or not\n"
      "_frostcal_paths() {\n"
      "  local _frostcal_word\n"
      "  _frostcal_bare \"$2\"\n"
      "  compopt -o filenames 2>/dev/null\n"
      "  mapfile -t COMPREPLY < <(compgen \"$1\" -- \"$_frostcal_word\")\n"
      "}\n\n"
      "_frostcal() {\n"
      "  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} command= _frostcal_shop=. "
      "_frostcal_word at\n"
      "  COMPREPLY=()\n"
      "  # Bash ends words at \"=\".\n"
      "  if [[ $word == = ]]; then word=; elif [[ $before == = ]]; then before=${COMP_WORDS[COMP_CWORD-2]}; "
      "fi\n"
      "  for ((at = 1; at < COMP_CWORD; at++)); do\n"
      "    if [[ ${COMP_WORDS[at]} == --shop ]]; then\n"
      "      at=$((at + 1))\n"
      "      [[ ${COMP_WORDS[at]} == = ]] && at=$((at + 1))\n"
      "      _frostcal_bare \"${COMP_WORDS[at]}\"\n"
      "      _frostcal_shop=$_frostcal_word\n"
      "    elif [[ -z $command && ${COMP_WORDS[at]} != -* ]]; then\n"
      "      command=${COMP_WORDS[at]}\n"
      "    fi\n"
      "  done\n"
      "  if [[ $before == --shop ]]; then _frostcal_paths -d \"$word\"; return; fi\n"
      "  if [[ -z $command ]]; then\n"
      "    COMPREPLY=($(compgen -W " +
      textfile::single_quoted(textfile::joined(first_words(), " ") + " --help --shop --version") +
      " -- \"$word\"))\n"
      "    return\n"
      "  fi\n";
  for (const std::string& first : first_words()) {
    std::vector<std::string> second;
    for (const Command* command : subcommands(first))
      second.push_back(command->name.substr(first.size() + 1));
    if (second.empty()) continue;
    const Command* alone = command_named(first);
    const std::string kind = alone == nullptr ? "" : value_kind("", alone->operands);
    const std::string names = kind.empty() ? "" : "\" $(_frostcal_names " + kind + ")\"";
    out += "  if [[ $before == " + first + " && $word != -* ]]; then\n    COMPREPLY=($(compgen -W " +
           textfile::single_quoted(textfile::joined(second, " ")) + names +
           " -- \"$word\"))\n    return\n  fi\n";
    out += "  for at in " + textfile::joined(second, " ") + "; do\n    [[ $command == " + first +
           " && \" ${COMP_WORDS[*]} \" == *\" " + first + " $at \"* ]] && command=\"" + first +
           " $at\"\n  done\n";
  }
  out += "  case $command in\n";
  for (const Command& command : command_list()) out += bash_case(command);
  return out + "  esac\n}\ncomplete -F _frostcal frostcal\n";
}

std::string zsh_completion() {
  std::string out =
      "#compdef frostcal\n# zsh completion for frostcal; made at build from its command rows.\n\n";
  out += kShellNames;
  for (const char* kind : {"glass", "machine", "vessel", "grid"}) {
    out += std::string("_frostcal_") + kind + "() {\n  local -a names\n  names=(${(f)\"$(_frostcal_names " +
           kind + ")\"})\n  compadd -a names\n}\n";
  }
  out +=
      "\n_frostcal() {\n  local _frostcal_shop=. command at\n  local -a commands\n"
      "  at=${words[(I)--shop]}\n  (( at > 0 && at < CURRENT - 1 )) && _frostcal_shop=${words[at + 1]}\n"
      "  at=${words[(I)--shop=*]}\n  (( at > 0 && at != CURRENT )) && _frostcal_shop=${words[at]#--shop=}\n"
      "  _frostcal_shop=${(Q)_frostcal_shop}\n"
      "  case $_frostcal_shop in '~' | '~/'*) _frostcal_shop=$HOME${_frostcal_shop:1} ;; esac\n"
      "  if (( CURRENT == 2 )); then\n    commands=(\n";
  for (const std::string& first : first_words()) {
    const Command* command = command_named(first);
    out += "      " +
           textfile::single_quoted(first + (command == nullptr ? "" : ':' + zsh_text(command->summary))) +
           '\n';
  }
  out +=
      "    )\n    _describe command commands\n    return\n  fi\n  shift words\n  (( CURRENT-- ))\n  "
      "command=$words[1]\n";
  for (const std::string& first : first_words()) {
    const std::vector<const Command*> below = subcommands(first);
    if (below.empty()) continue;
    out += "  if [[ $command == " + first +
           " ]]; then\n    if (( CURRENT == 2 )) && [[ $words[2] != -* ]]; then\n      commands=(\n";
    std::vector<std::string> second;
    for (const Command* command : below) {
      second.push_back(command->name.substr(first.size() + 1));
      out += "        " + textfile::single_quoted(second.back() + ':' + zsh_text(command->summary)) + '\n';
    }
    out += "      )\n      _describe command commands\n      return\n    fi\n    case $words[2] in\n      ";
    for (std::size_t i = 0; i < second.size(); ++i) out += (i == 0 ? "" : "|") + second[i];
    out += ")\n        command=\"" + first +
           " $words[2]\"\n        shift words\n        (( CURRENT-- ))\n        ;;\n    esac\n  fi\n";
  }
  out += "  case $command in\n";
  for (const Command& command : command_list()) out += zsh_case(command);
  return out + "  esac\n}\n\n_frostcal \"$@\"\n";
}

}  // namespace frostcal::cli
