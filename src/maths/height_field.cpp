#include "maths/height_field.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <queue>

namespace fettle::maths {

namespace {

struct Cell {
  double level;
  std::size_t index;
  // The lowest leaves first; equal levels by index, so that the order is the same everywhere.
  bool operator<(const Cell& o) const { return level != o.level ? level > o.level : index > o.index; }
};

/// Neighbours of a cell that share a side with it.
struct Sides {
  std::array<std::size_t, 4> cell{};
  int count = 0;
};
Sides sides_of(const HeightField& f, std::size_t index) {
  const auto nx = static_cast<std::size_t>(f.nx), ny = static_cast<std::size_t>(f.ny);
  const std::size_t i = index % nx, j = index / nx;
  Sides s;
  const auto add = [&s](std::size_t k) { s.cell[static_cast<std::size_t>(s.count++)] = k; };
  if (i > 0) add(index - 1);
  if (i + 1 < nx) add(index + 1);
  if (j > 0) add(index - nx);
  if (j + 1 < ny) add(index + nx);
  return s;
}

}  // namespace

std::vector<double> flood(const HeightField& field, const std::vector<char>& outlet, bool open_edge) {
  const std::size_t n = field.z.size();
  std::vector<double> level(n, std::numeric_limits<double>::infinity());
  if (field.nx <= 0 || field.ny <= 0) return level;
  std::vector<char> seen(n, 0);
  std::priority_queue<Cell> open;
  // On the way out of a hollow nothing is lower than its lip: those cells need no sorting.
  std::vector<std::size_t> plain;
  const auto start = [&](std::size_t k) {
    if (seen[k] != 0) return;
    seen[k] = 1;
    level[k] = field.z[k];
    open.push({level[k], k});
  };
  for (std::size_t k = 0; k < outlet.size() && k < n; ++k)
    if (outlet[k] != 0) start(k);
  for (int j = 0; open_edge && j < field.ny; ++j)
    for (int i = 0; i < field.nx; ++i)
      if (i == 0 || j == 0 || i + 1 == field.nx || j + 1 == field.ny) start(field.at(i, j));
  while (!open.empty() || !plain.empty()) {
    std::size_t k = 0;
    if (!plain.empty()) {
      k = plain.back();
      plain.pop_back();
    } else {
      k = open.top().index;
      open.pop();
    }
    const Sides s = sides_of(field, k);
    for (int c = 0; c < s.count; ++c) {
      const std::size_t next = s.cell[static_cast<std::size_t>(c)];
      if (seen[next] != 0) continue;
      seen[next] = 1;
      level[next] = std::max(field.z[next], level[k]);
      if (level[next] == level[k]) plain.push_back(next);
      else open.push({level[next], next});
    }
  }
  return level;
}

std::vector<Pool> pools(const HeightField& field, const std::vector<double>& level, double least) {
  std::vector<Pool> out;
  std::vector<char> seen(field.z.size(), 0);
  std::vector<std::size_t> stack;
  const auto wet = [&](std::size_t k) { return level[k] - field.z[k] > least; };
  for (std::size_t start = 0; start < field.z.size(); ++start) {
    if (seen[start] != 0 || !wet(start)) continue;
    Pool p;
    p.level = level[start];
    seen[start] = 1;
    stack.assign(1, start);
    while (!stack.empty()) {
      const std::size_t k = stack.back();
      stack.pop_back();
      const double depth = level[k] - field.z[k];
      p.area += field.cell * field.cell;
      p.volume += depth * field.cell * field.cell;
      if (depth > p.depth) {
        p.depth = depth;
        const auto nx = static_cast<std::size_t>(field.nx);
        p.deepest = field.middle(static_cast<int>(k % nx), static_cast<int>(k / nx));
      }
      const Sides s = sides_of(field, k);
      for (int c = 0; c < s.count; ++c) {
        const std::size_t next = s.cell[static_cast<std::size_t>(c)];
        if (seen[next] != 0 || !wet(next) || level[next] != p.level) continue;
        seen[next] = 1;
        stack.push_back(next);
      }
    }
    out.push_back(p);
  }
  std::stable_sort(out.begin(), out.end(), [](const Pool& a, const Pool& b) { return a.volume > b.volume; });
  return out;
}

}  // namespace fettle::maths
