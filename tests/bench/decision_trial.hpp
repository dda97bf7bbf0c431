// Decisions of the tool on simulated shops, with the truth beside them: for the decision benchmark and, with
// few glasses, for the recovery tests.
#pragma once

#include <cstdint>
#include <iosfwd>
#include <map>
#include <string>
#include <vector>

#include "surface/glass_surface.hpp"

namespace frostcal::bench {

/// One setting that was adopted without objection and without a reason being given.
struct AdoptionTrial {
  double promised = 0;  // chance, and its 90 % interval
  double low = 0;
  double high = 0;
  double truth = 0;
  double old_truth = -1;  // true chance of the setting that it replaced; -1 = it replaced none
  bool good = false;      // one bottle burned at it, on another day
};

struct AdoptionTrials {
  std::vector<AdoptionTrial> adopted;
  std::vector<double> in_force;  // true chance of what is in force after the last grid, where anything is
  std::vector<double> best;      // best possible chance, of every glass
};

/// Each glass gets grids of 12 up to 48 swatches; after each, whatever `table adopt` would take without a
/// reason is taken. The shop's target is 0.80, so that more is adopted. What is burned doesn't depend on what
/// is adopted, so `rows` get, as they come, the best setting after each grid against nothing and against the
/// best after each earlier grid: any rule can be replayed on them. `under` and `worse` are the shares of the
/// drawn surfaces on which the adoption would be bad.
AdoptionTrials simulate_adoptions(std::uint64_t first, int glasses, std::ostream* rows = nullptr);

/// Promise against truth by classes of promise, and bad adoptions: truly worse than the setting replaced by
/// more than 0.02, or for a first setting truly under the target by more than 0.10.
void print_adoptions(std::ostream& out, const AdoptionTrials& trials);

/// Losses on the second machine: best possible chance less true chance of the setting chosen. "Kept": the
/// carried setting is put in force, and replaced only where `table adopt` would replace it without a reason.
struct CarryTrial {
  /// A true chance on the second machine, and what was believed of it.
  struct Belief {
    double truth = 0;
    surface::ChanceInterval believed;
  };
  std::uint64_t seed = 0;
  double carried = 0;  // the carried setting, no swatch burned there
  double own_six = 0;  // best of that machine's own fit after the confirming grid of 6
  double kept_six = 0;
  double own_twelve = 0;  // after a targeted grid of 12 instead
  double kept_twelve = 0;
  double own_eighteen = 0;  // after the confirming 6 and a targeted 12
  double kept_eighteen = 0;
  std::map<std::string, Belief> beliefs;  // of what, when
};

/// 36 swatches on the first machine, then carried to one of another wattage, top speed, spot and dpi list.
std::vector<CarryTrial> simulate_carries(std::uint64_t first, int glasses, std::ostream* rows = nullptr);
void print_carries(std::ostream& out, const std::vector<CarryTrial>& trials);

/// What logged pieces teach: 24 swatches, then pieces at the best setting, as `log` writes them: ">=4,0" or,
/// of a reject, its grades. Believed chances of that setting and of the best one among all with the pieces.
struct PieceTrial {
  int pieces = 0;
  int good = 0;
  double truth = 0;               // of the setting
  double before = 0;              // chance believed without the pieces
  surface::ChanceInterval after;  // with them
  double best_now = 0;            // chance believed of the best setting with them, and its truth
  double best_truth = 0;
};
std::vector<PieceTrial> simulate_pieces(std::uint64_t first, int glasses);
void print_pieces(std::ostream& out, const std::vector<PieceTrial>& trials);

/// A tube that loses power while a tight glass is burned at its truly promised best setting.
struct PowerLossTrial {
  std::uint64_t seed = 0;
  double loss = 0;  // share of the power that is lost: 0, 0.1, 0.2
  double promised = 0;
  double chance = 0;         // with the loss
  double alarms = 0;         // share of runs of 200 pieces with an alarm
  double alarms_in_100 = 0;  // share with an alarm within 100
  int median_delay = 0;      // pieces, of the runs with an alarm
};
std::vector<PowerLossTrial> simulate_power_losses(std::uint64_t first, int glasses);
void print_power_losses(std::ostream& out, const std::vector<PowerLossTrial>& trials);

/// What `fit` says of such a tube: three grids of 12, then, eleven months later, a grid with the loss.
struct DriftTrial {
  double loss = 0;
  bool reference = false;  // a reference swatch in every grid, of the first at the best setting
  int swatches = 0;        // of the grid with the loss, without the reference swatch
  double change = 0;       // of the machine's power, as told, and whether its interval holds the true one
  bool inside = false;
  bool power_down = false;  // the interval of the machine's change lies below 0
  bool power_up = false;
  bool grid_apart = false;  // the newest grid is said to differ from the earlier ones
};
std::vector<DriftTrial> simulate_drift(std::uint64_t first, int glasses);
void print_drift(std::ostream& out, const std::vector<DriftTrial>& trials);

}  // namespace frostcal::bench
