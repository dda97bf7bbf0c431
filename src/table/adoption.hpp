// Whether the evidence supports putting a setting in force: old against new.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "choice/decision.hpp"
#include "shop/shop.hpp"
#include "surface/glass_change.hpp"
#include "surface/glass_surface.hpp"
#include "surface/shop_observations.hpp"
#include "surface/shop_surface.hpp"
#include "table/settings_history.hpp"
#include "table/stale_check.hpp"

namespace frostcal::table {

/// A setting in force is replaced only when the new one is better with at least this probability. Both bars
/// were chosen on 420 hidden glasses and judged on 320 others (seeds 2200 to 2519 of the simulator, up to 48
/// swatches each, target 0.80; decision_benchmark --what adoptions): 6 of 123 replacements were for the worse
/// by 0.03 to 0.09, 6 of 269 first settings truly under the target by more than 0.10. Replacing at 0.80 and
/// any first setting that meets the target left 11 of 223 and 18 of 270.
inline constexpr double kBetterBar = 0.85;

/// A first setting needs a 90 % interval whose low end is at most this far under the target: a high mean over
/// few swatches is often the luckiest of many settings.
inline constexpr double kFirstSlack = 0.40;

/// Old against new on today's surface. `gain` is new minus old.
struct Comparison {
  surface::ChanceInterval old_now;  // what is now believed of the old setting
  double gain = 0;                  // difference of the mean chances
  double gain_low = 0;              // 5 % quantile over the drawn surfaces
  double gain_high = 0;             // 95 % quantile
  double probability_better = 0;    // share of the drawn surfaces on which new is above old; ties count half
};

/// The rule by which the setting in force, an own or a carried one, stays or goes: it is kept until a setting
/// is better with probability kBetterBar on all evidence of the machine. While few swatches are graded the
/// drawn surfaces disagree and it stays. One that is so much better replaces it even where neither reaches
/// the shop's target; it is provisional then.
inline bool replaces(const Comparison& comparison) {
  constexpr double kRounding = 1e-9;  // a sum of the draws' shares
  return comparison.probability_better >= kBetterBar - kRounding;
}

/// What a stale row needs before its glass gets a setting again without a reason being given: as many graded
/// swatches of the glass on the machine, or, for the stale setting itself, as many pieces without an alarm.
/// Six is the smallest grid that `carry` and `plan` propose; a setting that got as bad as the log's test
/// looks for would pass twelve good pieces with probability 0.75^12 = 0.03 at a promise of 0.90.
inline constexpr int kFreshSwatches = 6;
inline constexpr int kFreshPieces = 12;

/// What was learned since a setting was found stale.
struct SinceStale {
  std::string since;  // when it was found stale
  int swatches = 0;   // graded since, of the glass on the machine
  StaleCheck pieces;  // logged since at the setting that was found stale
};

/// Nothing when neither the row in force nor the newest row at `proposed` is stale, or what made them so is
/// set aside (excuse); the later mark when both are.
std::optional<SinceStale> since_stale(const TableRecord& record, const surface::ShopEvidence& evidence,
                                      const std::string& glass, const std::string& machine,
                                      const shop::Setting& proposed, const shop::Acceptance& acceptance);

/// Whether that is enough. Pieces at another setting than the proposed one say nothing of it: `pieces_count`
/// is for the stale setting itself.
bool enough_since(const SinceStale& stale, bool pieces_count);

/// The setting in force was found stale, by what still counts, and too little was learned since: nobody knows
/// yet what changed, so no look ahead by a surface can say that there is nothing to learn.
bool lacks_news(const TableRecord& record, const surface::ShopEvidence& evidence, const std::string& glass,
                const std::string& machine, const shop::Acceptance& acceptance);

/// All that adopting a setting rests on. Nothing is written.
struct AdoptionCase {
  std::string glass;
  std::string machine;
  std::optional<choice::Decision> proposed;  // nothing when there is no setting to propose
  bool same_setting = false;                 // as in force: only its evidence is renewed
  std::string carried_from;                  // the machine whose surface the chances come from; empty = this
  Support support;                           // its pieces are those at the proposed setting
  int pieces = 0;         // logged for the glass on the machine, at whatever setting, that count
  std::string set_aside;  // those that don't: "8 pieces set aside: lens cleaned on 2026-11-05"; may be empty
  std::string newly_set_aside;  // of those, since the row in force was adopted or found stale
  bool excused = false;         // the row in force is stale by what is set aside (excuse)
  std::vector<std::string> grids;
  std::optional<SettingsRow> old;
  std::optional<SinceStale> stale;       // when the setting in force, or the proposed one, was found stale
  std::optional<Comparison> comparison;  // when there is an old setting that differs
  Status status = Status::provisional;   // the status that the new row would get
  std::vector<std::string> objections;   // why the evidence does not support it; empty = it does
  std::vector<std::string> lacks;        // to be settled
  bool needs_reason = false;             // the objections forbid adopting without one
};

/// Paired over the draws of the surface: both settings are judged on the same drawn surface.
Comparison compare(const surface::GlassSurface& surface, const surface::PhysicalSetting& old_setting,
                   const surface::PhysicalSetting& new_setting);

/// What the newest bottles say against the surface's chance, or nothing: "the newest bottles, a-4 and a-5,
/// show about 3.5 grades more chipping than the earlier ones, whose chance this is", or "swatches
/// 0007-amber-jug A1 and B2 came out bad where the earlier grids gave 0.97: something else than the setting
/// may have changed".
std::optional<std::string> doubt_of_newest(const surface::GlassSurface& surface,
                                           const std::vector<surface::Observation>& observations);

/// `setting` = what the user named, else the best one is proposed. While no swatch and no piece of the glass
/// is known on this machine, setting and chances are those that `carry` gives by the machine that knows most
/// of the glass (carry.hpp), if there is one. The objections are: nothing to propose; no graded
/// swatch or piece of this glass on this machine; chance under the shop's target, unless it replaces the
/// setting in force by the rules above; for a first setting, a low end more than kFirstSlack under the
/// target; setting well beyond what was burned; newest bottles unlike the earlier ones (later_bottles.hpp) or
/// failed where the earlier grids gave a high chance (glass_change.hpp);
/// found stale and too little learned since; and, when another setting is in force, that it does not replace
/// it. They forbid adopting without a reason, except that the setting in force, unless stale (and not
/// excused), may always have its evidence renewed: that can only make its row truer. Throws UserError for an
/// unknown glass or machine.
AdoptionCase weigh_adoption(const shop::Shop& shop, const surface::ShopEvidence& evidence,
                            const surface::ShopSurface& surfaces, const std::string& glass,
                            const std::string& machine, const std::optional<shop::Setting>& setting,
                            const TableRecord& record);

/// The history row of a case that has a proposal (else Bug). Objections overruled by `reason` make it
/// provisional whatever the numbers say. Its reason also says which pieces were newly set aside.
HistoryRow adopted_row(const AdoptionCase& adoption, const std::string& by, const std::string& reason,
                       const std::string& now, const std::string& tool_version);

}  // namespace frostcal::table
