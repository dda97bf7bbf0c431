#include "sheet/burn_marks.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "design/placement.hpp"
#include "sheet/stroke_glyphs.hpp"

namespace frostcal::sheet {
namespace {

constexpr double kLabelHeights[] = {2.5, 2.0, 1.6, 1.2};
constexpr double kFromSwatch = 0.6;
constexpr double kEdge = 0.5;  // kept clear along the edges of what the laser reaches
constexpr double kFlagWidth = 4.0;
constexpr double kFlagHeight = 6.0;
constexpr double kPole = 0.6;
constexpr double kCross = 4.0;
constexpr double kLine = 0.4;
constexpr double kTick = 3.0;
constexpr double kTickClear = 2.0;  // so that the flag does not crowd the tick

class FreeSpace {
 public:
  FreeSpace(const StandingBox& reachable, std::vector<StandingBox> taken)
      : bounds_(reachable.grown(-kEdge)), taken_(std::move(taken)) {}

  bool fits(const StandingBox& box, double clear) const {
    if (box.left < bounds_.left || box.right > bounds_.right || box.bottom < bounds_.bottom ||
        box.top > bounds_.top)
      return false;
    const StandingBox wide = box.grown(clear);
    return std::none_of(taken_.begin(), taken_.end(),
                        [&](const StandingBox& other) { return wide.overlaps(other); });
  }
  void take(const StandingBox& box) {
    taken_.push_back(box);
    newly_.push_back(box);
  }
  const std::vector<StandingBox>& newly() const { return newly_; }

  /// The place nearest the neck, then nearest the middle, on a raster of 1 mm.
  std::optional<StandingBox> find(double width, double height) const {
    for (double top = bounds_.top; top - height >= bounds_.bottom; top -= 1)
      for (double off = 0; off + width / 2 <= bounds_.right; off += 1)
        for (const double u : {off, -off}) {
          const StandingBox box{u - width / 2, top - height, u + width / 2, top};
          if (fits(box, design::kFromMarks)) return box;
        }
    return std::nullopt;
  }

 private:
  StandingBox bounds_;
  std::vector<StandingBox> taken_;
  std::vector<StandingBox> newly_;
};

enum class Beside { below, above, right, left };

StandingBox label_box(const StandingBox& swatch, Beside side, double width, double height) {
  const double u = (swatch.left + swatch.right) / 2;
  const double v = (swatch.bottom + swatch.top) / 2;
  switch (side) {
    case Beside::below:
      return {u - width / 2, swatch.bottom - kFromSwatch - height, u + width / 2,
              swatch.bottom - kFromSwatch};
    case Beside::above:
      return {u - width / 2, swatch.top + kFromSwatch, u + width / 2, swatch.top + kFromSwatch + height};
    case Beside::right:
      return {swatch.right + kFromSwatch, v - height / 2, swatch.right + kFromSwatch + width, v + height / 2};
    case Beside::left:
      break;
  }
  return {swatch.left - kFromSwatch - width, v - height / 2, swatch.left - kFromSwatch, v + height / 2};
}

/// A smaller label in the usual place before a large one elsewhere, so that it is clear whose it is. The own
/// swatch is among what is taken, 0.6 mm away, so 0.4 mm of clearance does not exclude it.
std::optional<PlacedText> place_label(const std::string& text, const std::string& id,
                                      const StandingBox& swatch, const FreeSpace& space) {
  for (const Beside side : {Beside::below, Beside::above, Beside::right, Beside::left})
    for (const double height : kLabelHeights) {
      const StandingBox box = label_box(swatch, side, stroke_text_width_mm(text, height), height);
      if (space.fits(box, design::kFromMarks)) return PlacedText{text, height, box, "id " + id};
    }
  return std::nullopt;
}

std::vector<Point> corners(const StandingBox& box) {
  return {{box.left, box.bottom}, {box.right, box.bottom}, {box.right, box.top}, {box.left, box.top}};
}

void add_shape(BurnMarks& marks, std::vector<Point> shape, const std::string& name) {
  marks.shapes.push_back(std::move(shape));
  marks.shape_names.push_back(name);
}

void place_centre(BurnMarks& marks, FreeSpace& space, const StandingBox& reachable) {
  const StandingBox cross{-kCross / 2, -kCross / 2, kCross / 2, kCross / 2};
  if (space.fits(cross, design::kFromMarks)) {
    space.take(cross);
    add_shape(marks, corners({-kCross / 2, -kLine / 2, kCross / 2, kLine / 2}), "centre");
    add_shape(marks, corners({-kLine / 2, kLine / 2, kLine / 2, kCross / 2}), "centre");
    add_shape(marks, corners({-kLine / 2, -kCross / 2, kLine / 2, -kLine / 2}), "centre");
    marks.centre = CentreMark::cross;
    return;
  }
  for (const StandingBox& tick :
       {StandingBox{-kLine / 2, reachable.top - kEdge - kTick, kLine / 2, reachable.top - kEdge},
        StandingBox{-kLine / 2, reachable.bottom + kEdge, kLine / 2, reachable.bottom + kEdge + kTick}})
    for (int shorter = 0; kTick - 0.5 * shorter >= 1; ++shorter) {
      const double length = kTick - 0.5 * shorter;
      StandingBox fitted = tick;
      if (tick.top > 0)
        fitted.bottom = tick.top - length;
      else
        fitted.top = tick.bottom + length;
      if (!space.fits(fitted, design::kFromMarks / 2)) continue;
      space.take({fitted.left - kTickClear, fitted.bottom, fitted.right + kTickClear, fitted.top});
      add_shape(marks, corners(fitted), "centre");
      marks.centre = marks.centre == CentreMark::none ? CentreMark::line : CentreMark::lines;
      break;
    }
}

void place_flag(BurnMarks& marks, FreeSpace& space) {
  for (const double scale : {1.0, 0.75, 0.5}) {
    const auto box = space.find(kFlagWidth * scale, kFlagHeight * scale);
    if (!box) continue;
    space.take(*box);
    add_shape(marks, corners({box->left, box->bottom, box->left + kPole * scale, box->top}), "flag");
    add_shape(marks,
              {{box->left + kPole * scale, box->top},
               {box->left + kPole * scale, box->top - kFlagHeight * scale * 0.55},
               {box->right, box->top - kFlagHeight * scale * 0.275}},
              "flag");
    marks.flag_placed = true;
    return;
  }
}

void place_title(BurnMarks& marks, FreeSpace& space, const std::string& title) {
  for (const double height : kLabelHeights) {
    const auto box = space.find(stroke_text_width_mm(title, height), height);
    if (!box) continue;
    space.take(*box);
    marks.texts.push_back({title, height, *box, "name"});
    marks.name_placed = true;
    return;
  }
}

/// `taken` are boxes of other burns on the same bottle, kept clear.
BurnMarks marks_of(const design::Grid& grid, const BurnPlan& plan, const StandingFrame& frame,
                   const std::vector<StandingBox>& swatches, const std::vector<StandingBox>& taken) {
  std::vector<StandingBox> all = swatches;
  all.insert(all.end(), taken.begin(), taken.end());
  FreeSpace space(frame.reachable(), std::move(all));
  BurnMarks marks;
  if (plan.names_bottle) place_centre(marks, space, frame.reachable());
  for (std::size_t i = 0; i < swatches.size(); ++i) {
    const std::string& id = grid.swatches[plan.swatches[i]].id;
    auto label = place_label(engraved_id(grid, plan, id), id, swatches[i], space);
    if (!label) {
      marks.unlabelled.push_back(id);
      continue;
    }
    space.take(label->box);
    marks.texts.push_back(*label);
  }
  if (plan.names_bottle) {
    place_flag(marks, space);
    place_title(marks, space, std::to_string(grid.number) + " " + plan.bottle);
  }
  marks.boxes = space.newly();
  return marks;
}

}  // namespace

std::vector<BurnMarks> place_marks(const design::Grid& grid, const std::vector<BurnPlan>& plans,
                                   const StandingFrame& frame, const std::vector<StandingBox>& swatches,
                                   std::map<std::string, std::vector<StandingBox>>& engraved) {
  std::vector<BurnMarks> all;
  for (const BurnPlan& plan : plans) {
    std::vector<StandingBox>& on_bottle = engraved[plan.bottle];
    std::vector<StandingBox> own;
    for (const std::size_t index : plan.swatches) own.push_back(swatches[index]);
    std::vector<StandingBox> taken = on_bottle;
    for (std::size_t i = 0; i < swatches.size(); ++i)
      if (grid.swatches[i].bottle == plan.bottle && grid.swatches[i].burn != plan.burn)
        taken.push_back(swatches[i]);
    all.push_back(marks_of(grid, plan, frame, own, taken));
    on_bottle.insert(on_bottle.end(), all.back().boxes.begin(), all.back().boxes.end());
  }
  return all;
}

}  // namespace frostcal::sheet
