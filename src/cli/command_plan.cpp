#include <algorithm>
#include <cmath>
#include <filesystem>
#include <ostream>

#include "choice/compare_designs.hpp"
#include "choice/next_grid.hpp"
#include "cli/commands.hpp"
#include "cli/draw_sheets.hpp"
#include "cli/progress_bar.hpp"
#include "cli/shop_reading.hpp"
#include "cli/spend_option.hpp"
#include "cli/terminal.hpp"
#include "design/design_by_name.hpp"
#include "design/grid_file.hpp"
#include "design/placement.hpp"
#include "errors/user_error.hpp"
#include "report/choice_text.hpp"
#include "report/design_table.hpp"
#include "report/json_output.hpp"
#include "shop/shop_command.hpp"
#include "shop/shop_file.hpp"
#include "surface/physical_setting.hpp"
#include "table/adoption.hpp"
#include "table/settings_table.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::cli {

using textfile::counted;
using textfile::labelled_line;

namespace {

std::pair<int, int> read_levels(const Arguments& arguments) {
  const std::string text = arguments.text("levels", "6x6");
  const auto pair = read_pair(text, Unit::none);
  const auto sensible = [](double levels) {
    return levels >= 1 && levels <= 40 && levels == std::floor(levels);
  };
  if (!pair || !sensible(pair->first) || !sensible(pair->second)) {
    throw UsageError("--levels: found " + errors::quoted(text) +
                     ", expected POWERxSPEED levels such as 6x6, up to 40x40");
  }
  return {static_cast<int>(pair->first), static_cast<int>(pair->second)};
}

// What the design would ignore is refused: the operator expects something of it.
void refuse_idle_levels(const Arguments& arguments) {
  if (!arguments.has("levels") || arguments.has("compare")) return;
  const std::string design = arguments.word("design");
  if (design == "lattice") return;
  throw UsageError("--levels is for the design lattice only" +
                   (design.empty() ? "; add --design lattice, or leave it out"
                                   : ", not for " + design + "; leave it out, or ask for --design lattice"));
}

void refuse_idle_swatches(const choice::GridRequest& request, const choice::PlannedGrid& plan) {
  const std::string& design = plan.grid.design;
  if (request.swatches == 0 || plan.targeted || design::has_free_size(design)) return;
  int count = static_cast<int>(plan.grid.swatches.size());
  if (design::reference_swatch(plan.grid) != nullptr) --count;
  if (count == request.swatches) return;
  throw UsageError("--swatches: found " + std::to_string(request.swatches) + ", expected " +
                   std::to_string(count) + ", the size of the design " + design +
                   (design == "lattice" ? ", which --levels sets" : "") +
                   "; leave it out, or ask for spread, targeted, optimal, optimal-d or split-plot, which "
                   "take any number");
}

double read_side(const Arguments& arguments, shop::LengthUnit units) {
  constexpr double kUsual = 8;
  if (units == shop::LengthUnit::mm)
    return arguments.number("size", design::kLeastSwatch, 40, kUsual, Unit::mm);
  return shop::kMmPerInch * arguments.number("size", 0.08, 1.6, kUsual / shop::kMmPerInch, Unit::inch);
}

choice::GridRequest read_request(const Arguments& arguments, shop::LengthUnit units) {
  refuse_idle_levels(arguments);
  choice::GridRequest request;
  request.glass = arguments.operands.at(0);
  request.machine = arguments.text("machine");
  request.vessel = arguments.text("vessel");
  request.design = arguments.word("design");
  request.swatches = static_cast<int>(arguments.integer("swatches", 1, 500, 0));
  request.bottles = static_cast<int>(arguments.integer("bottles", 1, 50, 0));
  request.new_bottle = arguments.has("new-bottle");
  request.power_pct = arguments.range("power", 0.1, 100, Unit::percent);
  request.speed_pct = arguments.range("speed", 0.1, 100, Unit::percent);
  request.tone_pct = arguments.range("tone", 1, 100, Unit::percent);
  for (const double dpi : arguments.list("dpi", 20, 5000, Unit::dpi)) {
    if (dpi != std::floor(dpi)) {
      throw UsageError("--dpi: found " + textfile::format_number(dpi) +
                       ", expected whole numbers; see the dpi " + "list of the machine in shop.toml");
    }
    request.dpi.push_back(static_cast<int>(dpi));
  }
  request.levels = read_levels(arguments);
  request.swatch_mm = read_side(arguments, units);
  request.spend = read_spending(arguments.text("spend"));
  request.seed = static_cast<std::uint64_t>(arguments.integer("seed", 0, 1000000000, 1));
  request.reference = arguments.has("reference");
  return request;
}

std::string minutes(double seconds) {
  return textfile::format_fixed(seconds / 60, 1) + " min";
}

bool contains(const std::vector<std::string>& words, const std::string& word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

report::PlanSummary summary_of(const shop::Shop& shop, const choice::PlannedGrid& plan,
                               const surface::ShopEvidence& evidence, bool written) {
  const design::Grid& grid = plan.grid;
  const design::GridFiles files = design::grid_files(shop, grid.id);
  report::PlanSummary summary;
  summary.grid = grid.id;
  summary.glass = grid.glass;
  summary.machine = grid.machine;
  summary.vessel = grid.vessel;
  summary.design = grid.design;
  summary.swatches = static_cast<int>(grid.swatches.size());
  summary.fewer_because = plan.fewer_because;
  summary.bottles = static_cast<int>(grid.bottles().size());
  summary.burns = grid.burns();
  summary.recipes = grid.recipes();
  summary.burn_seconds = plan.burn_seconds;
  if (plan.targeted) summary.expected_gain = plan.expectation.expected_gain;
  summary.stop = plan.stop;
  if (const design::Swatch* reference = design::reference_swatch(grid)) summary.reference = reference->id;
  summary.leaning = plan.leaning;
  const std::vector<std::string> bottles = grid.bottles();
  for (const surface::GradedGrid& earlier : evidence.grids)
    for (const std::string& bottle : earlier.grid.bottles())
      if (contains(bottles, bottle) && !contains(summary.used_bottles, bottle))
        summary.used_bottles.push_back(bottle);
  for (const surface::GradedGrid& earlier : evidence.grids) {
    const bool alike = earlier.grid.glass == grid.glass && earlier.grid.machine == grid.machine;
    if (alike && earlier.graded.empty()) summary.waiting.push_back(earlier.grid.id);
  }
  for (const design::Swatch& swatch : grid.swatches) {
    summary.confirming += swatch.role == design::Role::confirm;
    summary.repeats += swatch.role == design::Role::repeat;
  }
  if (written) {
    summary.swatches_file = files.swatches_csv.string();
    summary.burn_file = files.burn_pdf.string();
    summary.run_file = files.run_pdf.string();
  }
  return summary;
}

std::string spent_text(const choice::Spending& spend, const choice::PlannedGrid& plan,
                       const report::PlanSummary& summary) {
  std::string text;
  const auto add = [&](const std::string& part) { text += (text.empty() ? "" : ", ") + part; };
  if (spend.seconds > 0)
    add(textfile::format_fixed(summary.burn_seconds / 60, 1) + " of " + minutes(spend.seconds));
  if (spend.swatches > 0)
    add(std::to_string(summary.swatches) + " of " + counted(spend.swatches, "swatch", "swatches"));
  if (spend.bottles > 0)
    add(std::to_string(summary.bottles) + " of " + counted(spend.bottles, "bottle", "bottles"));
  if (plan.held_back)
    text += "; no more than " + std::to_string(summary.swatches) +
            " swatches at once: what they show places the next ones better";
  return text;
}

std::string leaning_text(const choice::Leaning& leaning, const std::string& machine) {
  constexpr std::size_t kMostNamed = 4;
  std::string names;
  for (std::size_t i = 0; i < std::min(kMostNamed, leaning.glasses.size()); ++i) {
    const choice::LeanedOn& one = leaning.glasses[i];
    const bool mostly = leaning.glasses.size() > 1 && one.share > 0.5 * leaning.others;
    names += (i == 0 ? "" : ", ") + one.glass + (one.machine == machine ? "" : " on " + one.machine) + ' ' +
             textfile::percent_text(one.share) + (mostly ? " (mostly)" : "");
  }
  if (leaning.glasses.size() > kMostNamed)
    names += ", " + std::to_string(leaning.glasses.size() - kMostNamed) + " more";
  if (leaning.others < 0.005) return "hardly any other glass: this one's own grades say what is known here";
  return names + "; other glasses count for " + textfile::percent_text(leaning.others) +
         " of what is known at these settings";
}

std::string bottles_text(const std::vector<std::string>& all, const report::PlanSummary& summary) {
  const std::vector<std::string>& used = summary.used_bottles;
  std::vector<std::string> words;
  for (const std::string& bottle : all) words.push_back(bottle + (contains(used, bottle) ? " (used)" : ""));
  if (used.empty()) return textfile::joined(words);
  const bool one = used.size() == 1;
  const bool written = !summary.burn_file.empty();
  return textfile::joined(words) + ": take the used " + (one ? "one" : "ones") +
         " from the shelf, not a fresh one, and line " + (one ? "it" : "each") +
         " up by its flag and centre mark, as run.pdf says. " + (one ? "Is it" : "Is one") + " gone? " +
         (written ? "Delete " + std::filesystem::path(summary.burn_file).parent_path().string() +
                        " and plan again"
                  : "Plan") +
         " with --new-bottle, or with the bottle under broken in shop.toml";
}

std::string fewer_line(const choice::PlannedGrid& plan, const choice::GridRequest& request) {
  if (plan.fewer_because.empty()) return "";
  return labelled_line("Fewer", "than the " + std::to_string(plan.wanted) + " swatches " +
                                    (request.swatches + request.spend.swatches > 0 ? "asked for" : "usual") +
                                    ": " + plan.fewer_because);
}

void print_plan(const shop::Shop& shop, const choice::PlannedGrid& plan, const choice::GridRequest& request,
                const report::PlanSummary& summary, bool learns_what_changed, const Streams& streams) {
  streams.out << "Grid " << summary.grid << ": " << counted(summary.swatches, "swatch", "swatches") << " of "
              << summary.glass << " on " << summary.machine << '\n'
              << labelled_line("Design", summary.design + ": " + plan.reason) << fewer_line(plan, request)
              << labelled_line("Bottles", bottles_text(plan.grid.bottles(), summary))
              << labelled_line("Burns", counted(summary.burns, "burn", "burns") + ", " +
                                            counted(summary.recipes, "recipe", "recipes") +
                                            " to type, about " + minutes(summary.burn_seconds) +
                                            " of burning");
  if (!summary.reference.empty())
    streams.out << labelled_line("Reference", summary.reference + ", " + plan.reference + "; graded first");
  if (request.spend.any()) streams.out << labelled_line("Spends", spent_text(request.spend, plan, summary));
  if (!plan.leaning.glasses.empty())
    streams.out << labelled_line("Leaned on", leaning_text(plan.leaning, summary.machine));
  if (plan.targeted) {
    streams.out << labelled_line(
        "Expected", "the best chance rises by about " + textfile::format_fixed(*summary.expected_gain, 2));
    if (learns_what_changed) {
      streams.out << labelled_line("Why now",
                                   "the setting in force is stale: this grid is to show what changed");
    } else if (plan.expectation.hopeless()) {
      streams.out << labelled_line("Stop?", report::out_of_reach_text());
    } else if (plan.stop) {
      streams.out << labelled_line("Stop?",
                                   "this grid is hardly worth its bottle; the setting is as good as known");
    }
  }
  if (!summary.waiting.empty()) {
    const bool one = summary.waiting.size() == 1;
    streams.out << labelled_line("Waiting",
                                 (one ? "grid " : "grids ") + textfile::joined(summary.waiting) +
                                     (one ? " waits for its grades" : " wait for their grades") + ": what " +
                                     (one ? "it" : "they") +
                                     " would teach is not known to this plan, which may ask for the "
                                     "same settings again");
  }
  if (!summary.burn_file.empty()) {
    streams.out << "  To burn       " << summary.burn_file << '\n'
                << "  To print      " << summary.run_file << '\n'
                << "Next: burn it, then  "
                << shop::command_for(shop, "grade " + std::to_string(plan.grid.number)) << '\n';
  }
}

ExitStatus run_compare(const Arguments& arguments, const shop::Shop& shop,
                       const surface::ShopEvidence& evidence, const choice::GridRequest& request,
                       const Streams& streams) {
  choice::DesignComparison comparison;
  {
    ProgressBar bar(streams, "Comparing designs");
    const surface::ShopSurface surfaces = surface::fit_shop(shop, evidence.observations);
    comparison = choice::compare_designs(shop, evidence, surfaces, request, now_text(),
                                         [&](int done, int total) { bar.set_done(done, total); });
  }
  streams.out << (arguments.has("json") ? report::design_table_json(comparison)
                                        : report::design_table_text(comparison));
  return ExitStatus::done;
}

choice::PlannedGrid planned(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                            const choice::GridRequest& request, const Streams& streams) {
  ProgressBar bar(streams, "Planning");
  const surface::ShopSurface surfaces = surface::fit_shop(shop, evidence.observations);
  return choice::plan_grid(shop, evidence, surfaces, request, now_text(),
                           [&](int done, int total) { bar.set_done(done, total); });
}

/// Drawn before anything is written, so that a grid that can't be drawn leaves nothing behind. False when the
/// shop has other grids than the plan knew.
bool written(const shop::Shop& shop, const surface::ShopEvidence& evidence, const choice::PlannedGrid& plan) {
  const GridSheets sheets = draw_sheets(shop, plan.grid, plan.sheets);
  std::vector<std::string> known;
  for (const surface::GradedGrid& graded : evidence.grids) known.push_back(graded.grid.id);
  const InterruptDelay delay;
  return design::write_grid(shop, plan.grid, known,
                            {{"burn.pdf", sheets.burn_pdf}, {"run.pdf", sheets.run_pdf}});
}

ExitStatus run_plan(const Arguments& arguments, const Streams& streams) {
  const shop::Shop shop = shop::read_shop(arguments.shop);
  choice::GridRequest request = read_request(arguments, shop.units);
  const table::TableRecord record = read_record(shop, streams);
  if (request.reference) {
    const auto row =
        table::in_force(record.history, request.glass, shop.machine_or_default(request.machine).name);
    if (row) request.in_force = row->setting;
  }
  surface::ShopEvidence evidence = read_evidence(shop, streams);
  if (arguments.has("compare")) return run_compare(arguments, shop, evidence, request, streams);
  choice::PlannedGrid plan = planned(shop, evidence, request, streams);
  refuse_idle_swatches(request, plan);
  const bool dry = arguments.has("dry-run");
  // Another terminal may have planned meanwhile, with the same number and places: then this one plans again.
  while (!dry && !written(shop, evidence, plan)) {
    evidence = surface::read_evidence(shop);
    plan = planned(shop, evidence, request, streams);
  }
  const bool stale = table::lacks_news(record, evidence, plan.grid.glass, plan.grid.machine, shop.acceptance);
  if (stale) plan.stop = false;
  const report::PlanSummary summary = summary_of(shop, plan, evidence, !dry);
  if (arguments.has("json")) {
    streams.out << report::plan_json(summary);
  } else {
    print_plan(shop, plan, request, summary, stale, streams);
  }
  return ExitStatus::done;
}

}  // namespace

Command plan_command() {
  return {
      "plan",
      "GLASS",
      1,
      1,
      "plan the most useful grid of swatches now and draw its sheets",
      "An opening grid where nothing is known of the glass, one aimed at what teaches most where "
      "something is. "
      "Writes a new folder under grids/ with grid.toml, swatches.csv, burn.pdf (true to scale, one page "
      "for each "
      "burn) and run.pdf (what to type, where each swatch is, a grading form).\n\n"
      "Each dpi on each bottle is a burn of its own, so a grid uses few of both.",
      {{"machine", "NAME", "the laser (default: the first of shop.toml)", false},
       {"vessel", "NAME", "the bottle shape (default: the glass's own)", false},
       {"design", "NAME",
        "spread, targeted, optimal (I), optimal-d, split-plot, lattice, central-composite, "
        "central-composite-faced or box-behnken (default: spread, then targeted)",
        false},
       {"swatches", "N",
        "how many swatches (default: 12); not for lattice, central-composite and box-behnken, which have a "
        "size "
        "of their own",
        false},
       {"bottles", "N", "spread the grid over N bottles (default: as few as hold it)", false},
       {"new-bottle", "", "burn on new bottles even where shelved ones have room", false},
       {"power", "LOW:HIGH", "keep power within this range, in percent", false},
       {"speed", "LOW:HIGH", "keep speed within this range, in percent", false},
       {"dpi", "LIST", "use only these dpi, such as 250,300", false},
       {"tone", "LOW:HIGH", "keep tone within this range, in percent; one number fixes it", false},
       {"levels", "PxS", "levels of power and speed of a lattice (default 6x6, at the middle dpi)", false},
       {"reference", "",
        "add one swatch, kept from grid to grid as long as it tells enough, so that graders agree on the "
        "scale and a machine that "
        "drifts shows sooner: as an earlier swatch where a little less power shows; in a first grid at the "
        "setting in force",
        false},
       {"size", "SIDE", "of a swatch, in the shop's units or with a unit of its own (default 8mm)", false},
       {"spend", "LIMITS",
        "spend at most this, and use it well: 20min of burning, 18swatches, 1bottle, or several joined by "
        "commas",
        false},
       {"seed", "N", "seed of every random choice (default 1)", false},
       {"compare", "", "show what every design would cost and teach, and write nothing", false},
       {"dry-run", "", "say what would be planned and write nothing", false},
       {"yes", "", "ask nothing (plan asks nothing at present)", false},
       {"json", "", "print one JSON object", false}},
      run_plan};
}

}  // namespace frostcal::cli
