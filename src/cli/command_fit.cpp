#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <optional>
#include <ostream>
#include <set>
#include <sstream>

#include "choice/evidence_count.hpp"
#include "choice/glass_choice.hpp"
#include "choice/glass_likeness.hpp"
#include "choice/grading_cost.hpp"
#include "cli/commands.hpp"
#include "cli/fit_classical.hpp"
#include "cli/fit_pairs.hpp"
#include "cli/message.hpp"
#include "cli/progress_bar.hpp"
#include "cli/setting_options.hpp"
#include "cli/shop_reading.hpp"
#include "cli/terminal.hpp"
#include "cli/write_pdf.hpp"
#include "errors/ascii.hpp"
#include "errors/user_error.hpp"
#include "grades/rater_agreement.hpp"
#include "numerics/parallel_for.hpp"
#include "report/choice_text.hpp"
#include "report/finding_text.hpp"
#include "report/glass_pictures.hpp"
#include "report/json_output.hpp"
#include "report/map_text.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "surface/diagnostics.hpp"
#include "surface/physical_setting.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"
#include "table/adoption.hpp"
#include "table/carry.hpp"
#include "table/settings_table.hpp"
#include "table/table_text.hpp"
#include "textfile/number_text.hpp"
#include "textfile/time_text.hpp"
#include "version.hpp"

namespace frostcal::cli {

namespace {

choice::Prefer read_prefer(const Arguments& arguments) {
  const std::string word = arguments.word("prefer", "chance");
  const std::map<std::string, choice::Prefer> known = {{"chance", choice::Prefer::chance},
                                                       {"fast", choice::Prefer::fast},
                                                       {"robust", choice::Prefer::robust},
                                                       {"sure", choice::Prefer::sure}};
  const auto found = known.find(word);
  if (found == known.end()) {
    throw UsageError("--prefer: found " + errors::quoted(word) + ", expected chance, fast, robust or sure");
  }
  return found->second;
}

double part_number(const std::string& text, const std::string& whole, Unit unit = Unit::none) {
  if (const auto amount = read_amount(text, unit)) return *amount;
  const textfile::NumberReading reading = textfile::read_number(text);
  if (!reading.value) {
    throw UsageError("--at: found " + errors::quoted(text) + " in " + errors::quoted(whole) +
                     ", expected a number" + (reading.remedy.empty() ? "" : "; " + reading.remedy));
  }
  return *reading.value;
}

int whole_part(const std::string& text, const std::string& whole, double most, Unit unit) {
  const double value = part_number(text, whole, unit);
  if (value >= 1 && value <= most && value == std::floor(value)) return static_cast<int>(value);
  throw UsageError("--at: found " + errors::quoted(text) + " in " + errors::quoted(whole) +
                   ", expected a whole number from 1 to " + textfile::format_number(most));
}

// "power=60,speed=40,dpi=300,tone=100,passes=1"; tone and screen are the machine's own where they are
// missing.
struct AskedDials {
  shop::Setting setting;
  bool tone = false;
  bool screen = false;
};

AskedDials read_at(const std::string& text) {
  AskedDials asked;
  shop::Setting& setting = asked.setting;
  bool power = false;
  bool speed = false;
  std::istringstream parts(text);
  std::string part;
  while (std::getline(parts, part, ',')) {
    const std::size_t equals = part.find('=');
    const std::string key = errors::to_lower(part.substr(0, equals));
    const std::string value = equals == std::string::npos ? "" : part.substr(equals + 1);
    if (key == "power") {
      setting.power_pct = part_number(value, text, Unit::percent);
      power = true;
    } else if (key == "speed") {
      setting.speed_pct = part_number(value, text, Unit::percent);
      speed = true;
    } else if (key == "dpi") {
      setting.dpi = whole_part(value, text, 10000, Unit::dpi);
    } else if (key == "tone") {
      setting.tone_pct = part_number(value, text, Unit::percent);
      asked.tone = true;
    } else if (key == "passes") {
      setting.passes = whole_part(value, text, 100, Unit::none);
    } else if (key == "screen") {
      setting.screen = value;
      asked.screen = true;
    } else {
      throw UsageError("--at: found " + errors::quoted(part) +
                       ", expected power=, speed=, dpi=, tone=, screen= or passes=");
    }
  }
  if (!power || !speed || setting.dpi == 0) {
    throw UsageError("--at: found " + errors::quoted(text) + ", expected at least power=..,speed=..,dpi=..");
  }
  return asked;
}

shop::Setting setting_on(const AskedDials& asked, const shop::Machine& machine) {
  shop::Setting setting = asked.setting;
  if (!asked.tone) setting.tone_pct = machine.tone_pct.max;
  if (!asked.screen) setting.screen = machine.screens.front();
  refuse_impossible(machine, setting, "--at: ");
  return setting;
}

void add_findings(choice::GlassChoice& choice, const surface::GlassSurface& surface,
                  const surface::ShopEvidence& evidence) {
  const std::vector<surface::Finding> findings = surface::diagnose(surface, evidence.observations);
  choice.findings = report::finding_texts(findings);
  choice.fits = std::none_of(findings.begin(), findings.end(), [](const surface::Finding& finding) {
    return finding.kind == surface::FindingKind::lack_of_fit;
  });
}

/// How the graders of a glass agree; what is worth a sentence goes to the findings.
report::GraderTable add_graders(choice::GlassChoice& choice, const surface::GlassSurface& surface,
                                const surface::ShopEvidence& evidence) {
  std::vector<grades::GradedSwatches> seen;
  for (const surface::GradedGrid& graded : evidence.grids) {
    if (graded.grid.glass == choice.glass && graded.grid.machine == choice.machine) {
      seen.push_back({graded.grid, graded.graded});
    }
  }
  report::GraderTable table{grades::agreement_between_graders(seen), grades::consistency_over_repeats(seen),
                            ""};
  if (const auto cost = choice::grading_cost(table.pairs, surface, evidence.observations)) {
    table.cost = report::to_text(*cost);
  }
  std::vector<std::string> sentences;
  for (const grades::GraderAgreement& pair : table.pairs) sentences.push_back(report::to_text(pair));
  for (const grades::GraderConsistency& repeat : table.repeats) sentences.push_back(report::to_text(repeat));
  sentences.push_back(table.cost);
  for (const std::string& sentence : sentences) {
    if (!sentence.empty()) choice.findings.push_back(sentence);
  }
  return table;
}

void write_report(const Arguments& arguments, const shop::Shop& shop,
                  const std::vector<report::GlassReport>& pages, const Streams& streams) {
  const std::string file = arguments.text("report");
  const shop::Paper paper = read_paper(arguments, shop.paper);
  const report::ReportHead head{shop.name,
                                now_text().substr(0, 10),
                                report::bar_text(shop.acceptance),
                                shop.acceptance.chance,
                                kVersion,
                                paper,
                                shop.units};
  write_pdf(file, "Fit report, " + shop.name, report::fit_report(head, pages));
  tell(streams, "Wrote " + file + '\n');
}

// What is now believed of the setting in force; nothing when there is none.
std::optional<table::AdoptionCase> in_force_today(const shop::Shop& shop,
                                                  const surface::ShopEvidence& evidence,
                                                  const surface::ShopSurface& surfaces,
                                                  const table::TableRecord& record, const std::string& glass,
                                                  const std::string& machine) {
  const auto row = table::in_force(record.history, glass, machine);
  if (!row) return std::nullopt;
  return table::weigh_adoption(shop, evidence, surfaces, glass, machine, row->setting, record);
}

// One kind of fit at a time, and no option that belongs to another.
void check_options(const Arguments& arguments) {
  if (const auto as_of = arguments.find("as-of")) {
    if (as_of->size() != 10 || !textfile::day_number(*as_of)) {
      throw UsageError("--as-of: found " + errors::quoted(*as_of) + ", expected a date such as 2026-11-25");
    }
  }
  if (arguments.has("paper") && !arguments.has("report")) throw UsageError("--paper needs --report FILE.pdf");
  const std::set<std::string> everywhere{"shop", "no-color", "json"};
  const std::set<std::string> plain_only{"grade", "by", "reference", "weight", "link"};
  const std::set<std::string> classical{"machine", "as-of"};
  for (const auto& [option, values] : arguments.values) {
    if (plain_only.count(option) > 0 && !arguments.has("plain")) {
      throw UsageError("--" + option + " needs --plain FILE");
    }
    for (const char* kind : {"measured", "classical", "plain"}) {
      if (!arguments.has(kind) || option == kind || everywhere.count(option) > 0) continue;
      const std::set<std::string>& takes = std::string(kind) == "plain" ? plain_only : classical;
      if (takes.count(option) == 0) throw UsageError("--" + option + " does not go with --" + kind);
    }
  }
}

// What is asked of each glass.
struct FitRequest {
  choice::ChoiceOptions choice;
  std::vector<AskedDials> at;
};

// A wrong word is said before any work.
FitRequest read_request(const Arguments& arguments) {
  FitRequest request;
  request.choice.prefer = read_prefer(arguments);
  request.choice.seed = static_cast<std::uint64_t>(arguments.integer("seed", 0, 1000000000, 1));
  for (const std::string& text : arguments.all("at")) request.at.push_back(read_at(text));
  (void)read_paper(arguments, shop::Paper::a4);
  return request;
}

struct FittedGlass {
  choice::GlassChoice choice;
  std::string in_force;      // lines on the setting in force
  bool found_stale = false;  // it is stale, and too little was learned since
  std::string maps;          // with --map
  std::vector<report::AskedSetting> asked;
  std::optional<report::GlassReport> page;  // with --report
};

struct FittedGlasses {
  std::vector<choice::GlassChoice> choices;
  std::vector<std::string> in_force;  // one per choice
  std::vector<bool> found_stale;      // the same
  std::vector<report::AskedSetting> asked;
  std::vector<report::GlassReport> pages;
  std::string maps;
  std::vector<choice::GlassLikeness> alike;
  std::vector<surface::PowerTrend> trends;  // of the machines
};

// Where another machine, `from`, alone knows the glass, the answer is that of carry and table adopt. `record`
// is null where today's rows are not to count.
FittedGlass carry_glass(const Arguments& arguments, const shop::Shop& shop,
                        const surface::ShopEvidence& evidence, const surface::ShopSurface& surfaces,
                        const table::TableRecord* record, const std::string& glass, const shop::Machine& from,
                        const shop::Machine& to, const FitRequest& request) {
  FittedGlass fitted;
  choice::GlassChoice& choice = fitted.choice;
  choice.glass = glass;
  choice.machine = to.name;
  choice.set_aside = grades::set_aside_text(evidence.set_aside, glass, to.name);
  choice.grids = choice::graded_grids(evidence, glass, to.name);
  choice.limited_by = choice::LimitingCause::few_swatches;
  choice.known_on = {from.name};
  const surface::GlassSurface& learned = surfaces.glass(surface::surface_name(glass, from.name));
  const auto there = record ? table::in_force(record->history, glass, from.name) : std::nullopt;
  const table::CarriedSetting carried = table::carried_setting(evidence, surfaces, glass, from, to, there);
  if (carried.setting) {
    choice.best =
        table::carried_decision(learned, *carried.setting, from, to, shop.acceptance, carried.delivered);
  }
  for (const AskedDials& asked : request.at) {
    const shop::Setting setting = setting_on(asked, to);
    fitted.asked.push_back(
        {glass, to.name, setting, table::carried_chance(learned, setting, from, to, carried.delivered),
         learned.grade_probabilities(table::as_burned_on(setting, from, to, carried.delivered))});
  }
  const std::string none = " of " + glass + " on " + to.name + ": none of it is graded there.\n";
  if (arguments.has("map")) fitted.maps += "No map" + none;
  if (arguments.has("report")) fitted.maps += "No page in the report" + none;
  if (request.choice.prefer != choice::Prefer::chance)
    fitted.maps += "--prefer says nothing of " + glass + " on " + to.name +
                   ": its setting is carry's while none of it is graded there.\n";
  return fitted;
}

// What is wanted of one glass on one machine.
FittedGlass fit_glass(const Arguments& arguments, const shop::Shop& shop,
                      const surface::ShopEvidence& evidence, const surface::ShopSurface& surfaces,
                      const table::TableRecord* record, const std::string& glass,
                      const shop::Machine& machine, const FitRequest& request) {
  const std::string name = surface::surface_name(glass, machine.name);
  const choice::EvidenceCount known = choice::count_evidence(evidence, name);
  if (known.swatches + known.pieces == 0) {
    if (const shop::Machine* from = table::teaching_machine(shop, evidence, glass, machine.name)) {
      return carry_glass(arguments, shop, evidence, surfaces, record, glass, *from, machine, request);
    }
  }
  FittedGlass fitted;
  choice::GlassChoice& choice = fitted.choice;
  choice = choice::choose_setting(shop, evidence, surfaces, glass, machine.name, request.choice);
  const surface::GlassSurface& surface = surfaces.glass(name);
  add_findings(choice, surface, evidence);
  const report::GraderTable graders = add_graders(choice, surface, evidence);
  if (arguments.has("report")) {
    fitted.page = report::glass_report(machine, surface, evidence, choice);
    fitted.page->graders = graders;
  }
  if (arguments.has("map")) {
    std::size_t left_out = 0;
    for (const report::ChanceMap& map : report::chance_maps(machine, surface, evidence, choice, 33)) {
      if (choice.best && !map.best) {
        ++left_out;
        continue;
      }
      fitted.maps += '\n' + glass + " on " + machine.name + ", " +
                     report::map_text(map, {32, 16, is_utf8_terminal(), shop.acceptance.chance});
    }
    for (const bool power : {true, false})
      if (const shop::SteppedRange& dial = power ? machine.power_pct : machine.speed_pct;
          dial.values().size() == 1)
        fitted.maps += "No map of " + glass + " on " + machine.name + ": its " + (power ? "power" : "speed") +
                       " is always " + shop::dial_text(dial.min) + " %.\n";
    if (left_out > 0) fitted.maps += "The maps of the other dpi are in the report (--report FILE.pdf).\n";
  }
  for (const AskedDials& asked : request.at) {
    const shop::Setting setting = setting_on(asked, machine);
    const surface::PhysicalSetting physical = surface::physical_setting(setting, machine);
    fitted.asked.push_back(
        {glass, machine.name, setting, surface.chance(physical), surface.grade_probabilities(physical)});
  }
  return fitted;
}

FittedGlasses fit_glasses(const Arguments& arguments, const shop::Shop& shop,
                          const surface::ShopEvidence& evidence, const FitRequest& request,
                          const Streams& streams) {
  FittedGlasses fitted;
  const std::vector<std::pair<std::string, std::string>> pairs = wanted_pairs(arguments, shop, evidence);
  for (const auto& [glass, machine] : pairs) {
    for (const AskedDials& asked : request.at) (void)setting_on(asked, shop.machine(machine));
  }
  const int total = static_cast<int>(pairs.size());
  ProgressBar bar(streams, "Fitting glasses");
  if (total > 1) bar.set_done(0, total);
  const surface::ShopSurface surfaces = surface::fit_shop(shop, evidence.observations);
  std::vector<std::string> names;
  for (const auto& [glass, machine] : pairs) names.push_back(surface::surface_name(glass, machine));
  surfaces.fit(names);
  const table::TableRecord record = read_record(shop, streams);
  const bool as_of_today = !arguments.has("as-of");
  std::vector<FittedGlass> glasses(pairs.size());
  std::atomic<int> done{0};
  numerics::parallel_for(pairs.size(), [&](std::size_t i) {
    const auto& [glass, machine] = pairs[i];
    glasses[i] = fit_glass(arguments, shop, evidence, surfaces, as_of_today ? &record : nullptr, glass,
                           shop.machine(machine), request);
    const auto today = as_of_today ? in_force_today(shop, evidence, surfaces, record, glass, machine)
                                   : std::optional<table::AdoptionCase>();
    if (today) glasses[i].in_force = table::in_force_text(shop, *today);
    if (as_of_today && table::lacks_news(record, evidence, glass, machine, shop.acceptance)) {
      glasses[i].found_stale = true;
      glasses[i].choice.stop = glasses[i].choice.out_of_reach = false;
    }
    bar.set_done(++done, total);
  });
  for (FittedGlass& one : glasses) {
    fitted.choices.push_back(std::move(one.choice));
    fitted.in_force.push_back(std::move(one.in_force));
    fitted.found_stale.push_back(one.found_stale);
    fitted.asked.insert(fitted.asked.end(), one.asked.begin(), one.asked.end());
    if (one.page) fitted.pages.push_back(std::move(*one.page));
    fitted.maps += one.maps;
  }
  fitted.alike = choice::find_alike(shop, surfaces, fitted.choices);
  fitted.trends = surfaces.power_trends();
  return fitted;
}

ExitStatus run_fit(const Arguments& arguments, const Streams& streams) {
  check_options(arguments);
  if (arguments.has("plain")) return fit_plain(arguments, streams);
  if (arguments.has("measured") || arguments.has("classical")) return fit_classical(arguments, streams);
  const FitRequest request = read_request(arguments);
  const shop::Shop shop = shop::read_shop(arguments.shop);
  const surface::ShopEvidence evidence = read_evidence(shop, streams, arguments.text("as-of"));
  const FittedGlasses fitted = fit_glasses(arguments, shop, evidence, request, streams);
  if (arguments.has("report") && fitted.choices.empty())
    throw UsageError("--report: no glass with grades to report on");
  if (!fitted.pages.empty()) write_report(arguments, shop, fitted.pages, streams);
  const bool any_meets_bar =
      std::any_of(fitted.choices.begin(), fitted.choices.end(), [&](const choice::GlassChoice& choice) {
        return choice.best && choice.best->chance >= shop.acceptance.chance;
      });
  if (arguments.has("json")) {
    streams.out << report::fit_json(fitted.choices, fitted.alike, fitted.trends, fitted.asked);
  } else {
    if (fitted.choices.empty()) {
      streams.out << "No swatch is graded yet. Plan a grid, burn it, then:  "
                  << shop::command_for(shop, "grade GRID") << '\n';
    }
    for (std::size_t i = 0; i < fitted.choices.size(); ++i) {
      streams.out << (i > 0 ? "\n" : "")
                  << report::choice_text(fitted.choices[i], shop,
                                         {request.choice.prefer, fitted.found_stale[i]})
                  << fitted.in_force[i];
    }
    const std::string shared = report::shared_text(fitted.alike, fitted.trends);
    if (!shared.empty()) streams.out << '\n' << shared;
    streams.out << fitted.maps;
    for (const report::AskedSetting& one : fitted.asked) streams.out << '\n' << report::asked_text(one);
  }
  return any_meets_bar ? ExitStatus::done : ExitStatus::no;
}

}  // namespace

Command fit_command() {
  return {
      "fit",
      "[GLASS...]",
      0,
      -1,
      "fit the surfaces and name the best setting of each glass, with how sure that is",
      "Reads every grid and grade of the shop, fits the response surface of each glass (all glasses "
      "together, so "
      "that they inform one another), and prints the setting with the highest chance of an acceptable "
      "new bottle, "
      "its 90 % interval, how far the machine may drift, what limits it, and whether another grid is "
      "worth its "
      "bottle. Without GLASS: every glass that has grades. Of a machine on which nothing of the glass is "
      "graded or "
      "logged it says what carry says.\n\n"
      "Exit status 1 when no named glass has a setting that meets the shop's target.\n\n"
      "Beside its own model it fits the classical ones, for comparison. --measured: a second-order surface "
      "by least squares of a column of numbers that you added to the results files, such as a gloss "
      "reading. --classical: the same of the mean frost grade. --plain: a cumulative-link model without "
      "prior on any CSV file. They decide nothing; exit status 1 when there was nothing that could be "
      "fitted.",
      {{"machine", "NAME", "only this machine (default: every machine the glass was graded on)", false},
       {"prefer", "WHAT",
        "chance (default), fast, robust or sure: the fastest, most drift-tolerant or most certain "
        "setting whose "
        "chance is within 0.02 of the best",
        false},
       {"at", "SETTING",
        "also say what to expect at power=60,speed=40,dpi=300; tone=, screen= and passes= may follow", true},
       {"as-of", "DATE", "leave out grades given after this date (2026-11-25)", false},
       {"map", "", "also draw the chance over power and speed as digits, at the dpi of the best setting",
        false},
       {"report", "FILE.pdf", "also write the report with chance maps; an older PDF of that name is replaced",
        false},
       {"paper", "SIZE", "of the report: a4 or letter (default: the shop's)", false},
       {"seed", "N", "seed of the look ahead to the next grid (default 1)", false},
       {"measured", "COLUMN", "fit this column of the results files by least squares", false},
       {"classical", "", "fit the mean frost grade by least squares", false},
       {"plain", "FILE.csv", "fit this file, with --grade and --by", false},
       {"grade", "COLUMN", "of --plain: the column with the grades, whole numbers", false},
       {"by", "COLUMNS", "of --plain: the columns that the grade may depend on, separated by commas", true},
       {"reference", "COLUMN=LEVEL",
        "of --plain: take the column as names and compare its levels with this one", true},
       {"weight", "COLUMN", "of --plain: how often each row was seen", false},
       {"link", "NAME", "of --plain: probit (default) or logit", false},
       {"json", "", "print one JSON object", false}},
      run_fit};
}

}  // namespace frostcal::cli
