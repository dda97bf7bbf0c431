#include "report/contours.hpp"

#include <array>
#include <map>
#include <utility>

#include "errors/bug.hpp"

namespace frostcal::report {
namespace {

using sheet::Point;

// A crossing lies on a lattice edge: lower or left corner's index, and whether the edge goes up.
using Edge = std::pair<int, bool>;

class Marcher {
 public:
  Marcher(const ValueLattice& lattice, double level) : lattice_(lattice), level_(level) {}

  std::vector<std::vector<Point>> lines() {
    for (int row = 0; row + 1 < lattice_.rows; ++row)
      for (int column = 0; column + 1 < lattice_.columns; ++column) cross_cell(column, row);
    std::vector<std::vector<Point>> result;
    // Open lines first: their ends have one neighbour.
    for (const bool open : {true, false})
      for (auto& [edge, next] : joined_)
        if (!next.empty() && (!open || next.size() == 1)) result.push_back(follow(edge));
    return result;
  }

 private:
  bool above(int column, int row) const { return lattice_.at(column, row) >= level_; }

  void join(const Edge& a, const Edge& b) {
    joined_[a].push_back(b);
    joined_[b].push_back(a);
  }

  void cross_cell(int column, int row) {
    const int corner = row * lattice_.columns + column;
    const Edge bottom{corner, false};
    const Edge top{corner + lattice_.columns, false};
    const Edge left{corner, true};
    const Edge right{corner + 1, true};
    const bool a = above(column, row);
    const bool b = above(column + 1, row);
    const bool c = above(column + 1, row + 1);
    const bool d = above(column, row + 1);
    std::vector<Edge> crossed;
    if (a != b) crossed.push_back(bottom);
    if (b != c) crossed.push_back(right);
    if (c != d) crossed.push_back(top);
    if (d != a) crossed.push_back(left);
    if (crossed.size() == 2) join(crossed[0], crossed[1]);
    if (crossed.size() != 4) return;
    const double middle = (lattice_.at(column, row) + lattice_.at(column + 1, row) +
                           lattice_.at(column + 1, row + 1) + lattice_.at(column, row + 1)) /
                          4;
    if ((middle >= level_) == a) {  // a and c hang together: cut off b and d
      join(bottom, right);
      join(top, left);
    } else {
      join(bottom, left);
      join(top, right);
    }
  }

  Point place(const Edge& edge) const {
    const int column = edge.first % lattice_.columns;
    const int row = edge.first / lattice_.columns;
    const double from = lattice_.at(column, row);
    const double to = edge.second ? lattice_.at(column, row + 1) : lattice_.at(column + 1, row);
    const double share = (level_ - from) / (to - from);
    return edge.second ? Point{static_cast<double>(column), row + share}
                       : Point{column + share, static_cast<double>(row)};
  }

  /// Takes the joints away as it goes, so that each is drawn once.
  std::vector<Point> follow(Edge edge) {
    std::vector<Point> line{place(edge)};
    while (!joined_[edge].empty()) {
      const Edge next = joined_[edge].back();
      joined_[edge].pop_back();
      std::vector<Edge>& back = joined_[next];
      for (std::size_t i = 0; i < back.size(); ++i)
        if (back[i] == edge) {
          back.erase(back.begin() + static_cast<std::ptrdiff_t>(i));
          break;
        }
      line.push_back(place(next));
      edge = next;
    }
    return line;
  }

  const ValueLattice& lattice_;
  double level_;
  std::map<Edge, std::vector<Edge>> joined_;
};

}  // namespace

std::vector<std::vector<Point>> contour_lines(const ValueLattice& lattice, double level) {
  FROSTCAL_ASSERT(lattice.columns >= 2 && lattice.rows >= 2 &&
                      lattice.value.size() ==
                          static_cast<std::size_t>(lattice.columns) * static_cast<std::size_t>(lattice.rows),
                  "contour_lines: lattice size");
  return Marcher(lattice, level).lines();
}

}  // namespace frostcal::report
