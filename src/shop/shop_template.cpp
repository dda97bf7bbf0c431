#include "shop/shop_file.hpp"

namespace frostcal::shop {

std::string shop_template() {
  return R"toml(# frostcal shop file. Yours to edit: frostcal reads it and never changes it.
# Everything after a # is a comment. Numbers use a decimal point. Lengths in mm, power in W, speed in mm/s.
# Check your edits with:  frostcal check

[shop]
name = "My shop"
units = "mm"                       # what is shown: "mm" or "in"; files are always mm
# paper = "letter"                 # for sheets and cards, "a4" or "letter" (default: a4; with units = "in" letter)

[acceptance]                       # what counts as good enough to sell
frost = 4                          # lowest frost grade: 4 = even frost
chipping = 0                       # highest chipping grade: 0 = none
chance = 0.90                      # how probable that must be for a new bottle

# Your words for the grades, worst to best frost and least to most chipping (uncomment to change).
# [grades]
# frost = ["no mark", "faint or broken", "patchy or line pattern shows", "readable but uneven", "even frost", "dense, smooth, even frost"]
# chipping = ["none", "a few specks under a loupe", "flakes visible at arm's length", "flakes lift or cracks run"]

[[machine]]                        # one for each laser, tube and lens: a new tube gets a new section and name
name = "bench"
rated_power_w = 60                 # what the laser delivers at 100 % power
top_speed_mm_s = 1200              # scan speed at 100 % speed
spot_mm = 0.12                     # spot diameter in focus
depth_of_focus_mm = 1.0            # how far from focus the glass may lie, either way
dpi = [200, 250, 300, 400, 500, 600]
power_pct = { min = 5, max = 100, step = 1 }
speed_pct = { min = 5, max = 100, step = 1 }
tone_pct = { min = 100, max = 100, step = 10 }   # widen to let the grey tone vary
screens = ["stucki"]               # published names, as far as the driver offers them
recipes_per_burn = 16              # how many fills can have a setting of their own in one send
turnaround_s = 0.05                # time lost at the end of each scan line
rotary = { kind = "roller", neck = "left", max_length_mm = 300 }   # "roller" or "chuck"; neck "left" or "right"
dose_limit_j_mm2 = 0.0             # never plan above this energy per area; 0 = no limit
# measured_power_w = [[10, 4.8], [50, 31.0], [100, 58.5]]   # power-meter readings: percent, W
# fills = ["#1A3C6E", "#B5651D"]    # the driver's own fill colours, if it knows only certain ones: name them all

[[vessel]]                         # one section for each bottle shape
name = "tall-jug"
diameter_mm = 88.0                 # or { at_neck = 80.0, at_base = 88.0 } for a taper
panel_mm = 95.0                    # length of the straight part that artwork goes on
seams = 2                          # mould seams, evenly spaced; swatches stay clear of them

[[glass]]                          # one section for each kind of glass you are handed
name = "amber-jug"
family = "soda-lime"               # soda-lime, borosilicate, lead-crystal, other
colour = "amber"
vessel = "tall-jug"
# broken = ["amber-jug-1"]         # test bottles that are gone: plan no longer asks for them
)toml";
}

std::string gitignore_template() {
  return R"(# What frostcal leaves beside the shop's own files; another copy of the shop needs none of it.
.lock
.*.tmp
)";
}

}  // namespace frostcal::shop
