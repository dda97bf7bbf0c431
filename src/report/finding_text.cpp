#include "report/finding_text.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "surface/shop_observations.hpp"
#include "textfile/number_text.hpp"
#include "textfile/phrases.hpp"

namespace frostcal::report {

using surface::Finding;
using surface::FindingKind;
using textfile::format_fixed;

namespace {

std::string ids(const std::vector<std::string>& swatches) {
  constexpr std::size_t kMost = 6;
  if (swatches.size() <= kMost) return textfile::joined(swatches);
  return textfile::joined({swatches.begin(), swatches.begin() + kMost}) + " and " +
         std::to_string(swatches.size() - kMost) + " more";
}

bool is_piece(const std::string& swatch) {
  return swatch.rfind(surface::kPieceId, 0) == 0;
}

// A customer has the pieces: only swatches can be looked at again.
std::vector<std::string> on_the_shelf(std::vector<std::string> swatches) {
  swatches.erase(std::remove_if(swatches.begin(), swatches.end(), is_piece), swatches.end());
  return swatches;
}

std::string response_name(const Finding& finding) {
  return finding.response == surface::Response::frost ? "frost" : "chipping";
}

// "1.2 grades more frost"
std::string by_how_much(const Finding& finding) {
  return format_fixed(std::abs(finding.size), 1) + (finding.size > 0 ? " grades more " : " grades less ") +
         response_name(finding);
}

std::string two_graders(const Finding& first, const Finding& second) {
  Finding apart = second;
  apart.size -= first.size;
  return "Grader " + second.subject + " gives " + by_how_much(apart) + " than " + first.subject +
         ": grade a few swatches together and agree on the words. The chance is for the eyes of any of the "
         "shop's graders.";
}

}  // namespace

std::string to_text(const Finding& finding) {
  switch (finding.kind) {
    case FindingKind::swatch_disagrees:
      if (is_piece(finding.swatches.front())) {
        return "The piece of " + finding.swatches.front() + " shows " + by_how_much(finding) +
               " than the others lead to expect: is its row right, and what was different that day?";
      }
      return "Swatch " + ids(finding.swatches) + " shows " + by_how_much(finding) +
             " than the others lead to expect: look at it again.";
    case FindingKind::later_bottles_differ:
      return "The newest bottles, " + finding.subject + ", all show about " + by_how_much(finding) +
             " than the earlier ones, whose chance this is. Another glass under the old name (a new "
             "supplier?) or out of focus? Burn none for a customer before that is known. If it is the glass, "
             "give it a "
             "name of its own: README, When something went wrong.";
    case FindingKind::promise_broken:
      return "Swatches " + ids(finding.swatches) +
             " came out bad, where the earlier grids gave a chance of " +
             textfile::shown_chance(finding.size) +
             (finding.subject.find(',') == std::string::npos ? " (bottle " : " (bottles ") + finding.subject +
             "): look at them again. Is it the same glass (a new supplier?), level, in focus? If you don't "
             "know, burn the setting that you use on one more bottle before the next customer's.";
    case FindingKind::later_bottles_power: {
      const double percent = 100 * std::abs(std::expm1(finding.size));
      return "Its later bottles behave as if about " + format_fixed(percent, 0) + " % " +
             (finding.size < 0 ? "less" : "more") +
             " power had reached them than the earlier ones, and no other glass says the same. The settings "
             "here are for the later bottles. Burn a bottle of another glass: if that is as before, this "
             "glass has changed (a new supplier?) and wants a name of its own: README, When something went "
             "wrong.";
    }
    case FindingKind::bottle_differs:
      return "Bottle " + finding.subject + " shows " + by_how_much(finding) +
             " than the other bottles (swatches " + ids(finding.swatches) +
             "): was it the same glass, level, in focus?";
    case FindingKind::grader_differs:
      return "Grader " + finding.subject + " gives " + by_how_much(finding) +
             " than the others: grade a few swatches together and agree on the words.";
    case FindingKind::glass_changed: {
      const double percent = 100 * std::abs(std::expm1(finding.size));
      return "Grid " + finding.subject + " behaves as if " + format_fixed(percent, 0) + " % " +
             (finding.size < 0 ? "less" : "more") +
             " power had reached the glass than in the earlier grids. If the reference swatch and other "
             "glasses look as "
             "before, the glass has changed (a new supplier?): give it a name of its own in shop.toml.";
    }
    case FindingKind::position_trend:
      return "Residuals of " + response_name(finding) + (finding.size > 0 ? " rise " : " fall ") +
             (finding.subject == "x" ? "from neck to base" : "round the bottle") +
             ": check that the bottle lies level and in focus.";
    case FindingKind::responses_associated:
      return "Swatches with more frost than expected also show " +
             std::string(finding.size > 0 ? "more" : "less") +
             " chipping than expected, so the chance is less sure than it says.";
    case FindingKind::lack_of_fit:
      if (finding.subject == "near" && on_the_shelf(finding.swatches).empty()) {
        return "Logged pieces of like settings have " + response_name(finding) +
               " grades that are harder to predict than the fit believes: burn repeats on scrap bottles.";
      }
      if (finding.subject == "near") {
        return "Swatches " + ids(on_the_shelf(finding.swatches)) + ", of like settings, have " +
               response_name(finding) +
               " grades that are harder to predict than the fit believes: grade them again, or burn repeats "
               "of them.";
      }
      return "The grades of " + response_name(finding) +
             " are harder to predict than the fit believes: the interval is too narrow; grade the swatches "
             "again or burn repeats.";
  }
  return "";
}

std::vector<std::string> finding_texts(const std::vector<Finding>& findings) {
  std::vector<std::string> texts;
  for (const Finding& finding : findings) {
    const auto other_grader = [&](const Finding& other) {
      return &other != &finding && other.kind == FindingKind::grader_differs &&
             other.response == finding.response;
    };
    if (finding.kind == FindingKind::grader_differs &&
        std::count_if(findings.begin(), findings.end(), other_grader) == 1) {
      const auto other = std::find_if(findings.begin(), findings.end(), other_grader);
      if (other->size * finding.size < 0) {
        if (&*other < &finding) texts.push_back(two_graders(*other, finding));
        continue;
      }
    }
    texts.push_back(to_text(finding));
  }
  return texts;
}

std::string to_text(const choice::GlassLikeness& alike) {
  return "Glasses " + alike.first + " and " + alike.second + " behave alike on " + alike.machine +
         ": at the other's setting they would lose " + format_fixed(alike.first_loss, 2) + " and " +
         format_fixed(alike.second_loss, 2) + " of their chance, so one setting could serve both.";
}

std::string to_text(const surface::PowerTrend& trend) {
  if (trend.low <= 0 && trend.high >= 0) return "";
  const auto percent = [](double change) { return format_fixed(100 * std::abs(change), 0); };
  const bool down = trend.change < 0;
  return "Power of machine " + trend.machine + " is " + (down ? "down" : "up") + " about " +
         percent(trend.change) + " % since " + trend.since +
         " (90 %: " + percent(down ? trend.high : trend.low) + " to " +
         percent(down ? trend.low : trend.high) + "), as " +
         textfile::counted(trend.glasses, "glass tells", "glasses tell") +
         (down ? ": clean lens and mirrors, check focus and alignment as its manual says; the settings here "
                 "are for the "
                 "machine as it is now."
               : ": the settings here are for the machine as it is now.") +
         (trend.one_bottle
              ? " A single bottle tells it, which may be an odd one: burn another before you rely on it."
              : "");
}

std::string to_text(const grades::GraderAgreement& agreement) {
  const grades::Kappa& kappa = agreement.frost;
  if (kappa.pairs <= 0) return "";
  std::string text = "Graders " + agreement.first + " and " + agreement.second + " both graded " +
                     textfile::counted(static_cast<int>(kappa.pairs), "swatch", "swatches");
  if (kappa.pairs < kLeastKappaPairs) {
    text += ", too few to say how well they agree (at least " + std::to_string(kLeastKappaPairs) + ')';
  } else if (kappa.defined) {
    text += "; weighted kappa of frost " + format_fixed(kappa.kappa, 2) +
            " (90 %: " + format_fixed(kappa.low, 2) + " to " + format_fixed(kappa.high, 2) + ')';
  } else {
    text += "; as one of them gave the same frost to all, kappa can't tell how well they agree";
  }
  if (std::abs(agreement.frost_difference) >= 0.3) {
    text += "; " + agreement.second + " gives " + format_fixed(std::abs(agreement.frost_difference), 1) +
            (agreement.frost_difference > 0 ? " more frost" : " less frost");
  }
  if (!agreement.apart.empty()) text += "; look together at " + ids(agreement.apart);
  return text + '.';
}

std::string to_text(const grades::GraderConsistency& consistency) {
  const grades::Kappa& kappa = consistency.frost;
  if (!kappa.defined || kappa.pairs < kLeastKappaPairs) return "";
  return "Grader " + consistency.grader + " over " + format_fixed(kappa.pairs, 0) +
         " pairs of repeats: weighted kappa of frost " + format_fixed(kappa.kappa, 2) +
         " (90 %: " + format_fixed(kappa.low, 2) + " to " + format_fixed(kappa.high, 2) +
         "), the burn's own scatter included.";
}

std::string to_text(const choice::GradingCost& cost) {
  return "Where graders differ makes up about " + format_fixed(100 * cost.share, 0) +
         " % of the scatter about the surface: " + std::to_string(cost.grades) + " grades tell as much as " +
         format_fixed(cost.worth, 0) + " would without it.";
}

}  // namespace frostcal::report
