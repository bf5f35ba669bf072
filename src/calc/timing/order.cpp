#include "calc/timing/order.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <numeric>
#include <set>
#include <utility>

#include "calc/timing/check.h"

namespace fettle::timing {

namespace {

/// Changes of a round in this order: the change back to the first tool counts.
int changes_of(const std::vector<OrderCut>& cuts, const std::vector<int>& order) {
  int n = 0;
  for (std::size_t i = 0; i < order.size(); ++i) {
    const std::size_t before = i == 0 ? order.size() - 1 : i - 1;
    n += cuts[static_cast<std::size_t>(order[i])].tool != cuts[static_cast<std::size_t>(order[before])].tool ? 1 : 0;
  }
  return n;
}

/// The search for the fewest blocks of one tool. A block takes everything its tool can reach: leaving some of it for
/// later never saves a change.
class Blocks {
 public:
  explicit Blocks(const std::vector<OrderCut>& cuts) : cuts_(cuts) {
    for (const OrderCut& c : cuts)
      if (tool_.emplace(c.tool, tools_.size()).second) tools_.push_back(c.tool);
    for (const OrderCut& c : cuts) tool_of_.push_back(tool_.at(c.tool));
    for (const OrderCut& c : cuts) {
      std::uint64_t need = 0;
      for (int a : c.after) need |= std::uint64_t{1} << a;
      need_.push_back(need);
    }
  }
  /// Fewest blocks that finish what is not done, the last one of tool `last` (any: -1); a large number when there is no
  /// such way. After `budget_` states the rest is searched greedily.
  int fewest(std::uint64_t done, int last, int previous = -1) {
    if (done == all()) return last < 0 || last == previous ? 0 : never;
    if (last >= 0 && !left_of(done, static_cast<std::size_t>(last))) return never;
    const Key key{done, last};
    if (const auto it = kept_.find(key); it != kept_.end()) return it->second;
    if (kept_.size() >= budget_) {
      gave_up_ = true;
      return last < 0 ? fewest_greedy(done) : never;
    }
    int best = never;
    const int least = tools_left(done);  // no order does with fewer blocks than there are tools left
    for (std::size_t t = 0; t < tools_.size() && best > least; ++t) {
      const std::uint64_t next = block(done, t);
      if (next != done) best = std::min(best, 1 + fewest(next, last, static_cast<int>(t)));
    }
    kept_[key] = best;
    return best;
  }
  /// The order with fewest changes round and round: one block less when it begins and ends with one tool.
  std::vector<int> order() {
    const int open = fewest(0, -1);
    int first = -1;
    for (std::size_t t = 0; t < tools_.size() && first < 0; ++t) {
      const std::uint64_t next = block(0, t);
      if (next != 0 && next != all() && 1 + fewest(next, static_cast<int>(t), static_cast<int>(t)) == open)
        first = static_cast<int>(t);
    }
    std::vector<int> out;
    std::uint64_t done = 0;
    if (first >= 0) append_block(done, static_cast<std::size_t>(first), out);
    while (done != all()) {
      std::size_t pick = first_tool(done);
      int best = never;
      for (std::size_t t = 0; t < tools_.size(); ++t) {
        const std::uint64_t next = block(done, t);
        if (next == done) continue;
        const int n = fewest(next, first, static_cast<int>(t));
        if (n < best) best = n, pick = t;
      }
      append_block(done, pick, out);
    }
    return out;
  }
  bool gave_up() const { return gave_up_; }

 private:
  static constexpr int never = 1 << 20;
  using Key = std::pair<std::uint64_t, int>;
  std::uint64_t all() const { return cuts_.size() == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << cuts_.size()) - 1; }
  bool can(std::uint64_t done, std::size_t i) const { return (done >> i & 1) == 0 && (need_[i] & ~done) == 0; }
  int tools_left(std::uint64_t done) const {
    std::uint64_t seen = 0;
    for (std::size_t i = 0; i < cuts_.size(); ++i)
      if ((done >> i & 1) == 0) seen |= std::uint64_t{1} << tool_of_[i];
    return std::popcount(seen);
  }
  bool left_of(std::uint64_t done, std::size_t t) const {
    for (std::size_t i = 0; i < cuts_.size(); ++i)
      if ((done >> i & 1) == 0 && tool_of_[i] == t) return true;
    return false;
  }
  std::uint64_t block(std::uint64_t done, std::size_t t) const {
    for (bool more = true; more;) {
      more = false;
      for (std::size_t i = 0; i < cuts_.size(); ++i)
        if (tool_of_[i] == t && can(done, i)) {
          done |= std::uint64_t{1} << i;
          more = true;
        }
    }
    return done;
  }
  void append_block(std::uint64_t& done, std::size_t t, std::vector<int>& out) const {
    for (bool more = true; more;) {
      more = false;
      for (std::size_t i = 0; i < cuts_.size(); ++i)
        if (tool_of_[i] == t && can(done, i)) {
          done |= std::uint64_t{1} << i;
          out.push_back(static_cast<int>(i));
          more = true;
        }
    }
  }
  /// The tool that reaches most at once.
  std::size_t first_tool(std::uint64_t done) const {
    std::size_t pick = 0;
    int most = -1;
    for (std::size_t t = 0; t < tools_.size(); ++t) {
      std::vector<int> reached;
      std::uint64_t next = done;
      append_block(next, t, reached);
      if (static_cast<int>(reached.size()) > most) most = static_cast<int>(reached.size()), pick = t;
    }
    return pick;
  }
  int fewest_greedy(std::uint64_t done) const {
    int n = 0;
    while (done != all()) done = block(done, first_tool(done)), ++n;
    return n;
  }

  const std::vector<OrderCut>& cuts_;
  std::map<std::string, std::size_t> tool_;
  std::vector<std::string> tools_;
  std::vector<std::uint64_t> need_;
  std::vector<std::size_t> tool_of_;  // per cut
  std::map<Key, int> kept_;
  std::size_t budget_ = 200000;
  bool gave_up_ = false;
};

void check_order(const OrderInputs& in, Check& check) {
  const int n = static_cast<int>(in.cuts.size());
  if (n == 0) check.problems.push_back(bad("no cut to order"));
  if (n > 64) check.problems.push_back(bad("too many cuts to order", std::to_string(n), "at most 64"));
  check.at_least("parts", in.parts, 1);
  check.at_least("tool change", in.tool_change, 0);
  for (int i = 0; i < n; ++i)
    for (int a : in.cuts[static_cast<std::size_t>(i)].after) {
      if (a < 0 || a >= n)
        check.problems.push_back(bad("a cut that is not there", std::to_string(a), "a cut of the list"));
      else if (a == i) check.problems.push_back(bad("a cut after itself", std::to_string(i)));
      else if (a > i)  // also every ring has one such pair
        check.problems.push_back(bad("the stated order breaks what must come before",
                                     fmt::format("cut {} before cut {}", i + 1, a + 1), "the other way round"));
    }
}

}  // namespace

Outcome<OrderResult> order(const OrderInputs& in) {
  Check check;
  check_order(in, check);
  if (!check.problems.empty()) return check.problems;
  OrderResult r;
  std::vector<int> stated(in.cuts.size());
  std::iota(stated.begin(), stated.end(), 0);
  r.tool_by_tool = changes_of(in.cuts, stated);
  r.part_by_part = in.parts * r.tool_by_tool;
  std::set<std::string> tools;
  for (const OrderCut& c : in.cuts) tools.insert(c.tool);
  r.least = r.tool_by_tool;
  r.least_order = stated;
  // Each tool once is the least there can be; only else is it worth a search.
  if (r.tool_by_tool > (tools.size() > 1 ? static_cast<int>(tools.size()) : 0)) {
    Blocks blocks(in.cuts);
    const std::vector<int> found = blocks.order();
    r.proven = !blocks.gave_up();
    if (changes_of(in.cuts, found) < r.least) r.least = changes_of(in.cuts, found), r.least_order = found;
  }
  r.saved_per_part = (r.part_by_part - r.tool_by_tool) * in.tool_change / in.parts;
  r.could_save_per_part = (r.tool_by_tool - r.least) * in.tool_change / in.parts;
  return r;
}

namespace {

double gap(const frame::Vec3& a, const frame::Vec3& b) { return std::hypot(a.x - b.x, a.y - b.y); }

double length_of(const std::vector<frame::Vec3>& p, const std::vector<int>& order) {
  double d = 0;
  for (std::size_t i = 1; i < order.size(); ++i)
    d += gap(p[static_cast<std::size_t>(order[i - 1])], p[static_cast<std::size_t>(order[i])]);
  return d;
}

/// Held and Karp: shortest way that ends at each place, over all subsets.
std::vector<int> shortest_way(const std::vector<frame::Vec3>& p) {
  const std::size_t n = p.size(), subsets = std::size_t{1} << n;
  std::vector<double> best(subsets * n, std::numeric_limits<double>::infinity());
  std::vector<int> from(subsets * n, -1);
  for (std::size_t i = 0; i < n; ++i) best[(std::size_t{1} << i) * n + i] = 0;
  for (std::size_t s = 1; s < subsets; ++s)
    for (std::size_t i = 0; i < n; ++i) {
      const double d = best[s * n + i];
      if (!std::isfinite(d)) continue;
      for (std::size_t j = 0; j < n; ++j) {
        if ((s >> j & 1) != 0) continue;
        const std::size_t to = (s | std::size_t{1} << j) * n + j;
        if (d + gap(p[i], p[j]) < best[to]) best[to] = d + gap(p[i], p[j]), from[to] = static_cast<int>(i);
      }
    }
  std::size_t s = subsets - 1, end = 0;
  for (std::size_t i = 1; i < n; ++i)
    if (best[s * n + i] < best[s * n + end]) end = i;
  std::vector<int> order;
  for (int i = static_cast<int>(end); i >= 0;) {
    order.push_back(i);
    const int before = from[s * n + static_cast<std::size_t>(i)];
    s &= ~(std::size_t{1} << i);
    i = before;
  }
  std::reverse(order.begin(), order.end());
  return order;
}

/// Nearest next from the first place, then stretches turned round while that helps.
std::vector<int> good_way(const std::vector<frame::Vec3>& p) {
  std::vector<int> order = {0}, left;
  for (std::size_t i = 1; i < p.size(); ++i) left.push_back(static_cast<int>(i));
  while (!left.empty()) {
    const auto at = [&](int i) { return p[static_cast<std::size_t>(i)]; };
    const auto next = std::min_element(left.begin(), left.end(), [&](int a, int b) {
      return gap(at(order.back()), at(a)) < gap(at(order.back()), at(b));
    });
    order.push_back(*next);
    left.erase(next);
  }
  for (bool better = true; better;) {
    better = false;
    for (std::size_t i = 0; i < order.size(); ++i)
      for (std::size_t j = i + 1; j < order.size(); ++j) {
        std::vector<int> turned = order;
        std::reverse(turned.begin() + static_cast<std::ptrdiff_t>(i),
                     turned.begin() + static_cast<std::ptrdiff_t>(j) + 1);
        if (length_of(p, turned) < length_of(p, order) - 1e-12) order = turned, better = true;
      }
  }
  return order;
}

}  // namespace

Tour nest_tour(const std::vector<frame::Vec3>& places) {
  Tour t;
  if (places.empty()) return t;
  t.shortest = places.size() <= 12;
  t.order = t.shortest ? shortest_way(places) : good_way(places);
  t.length = length_of(places, t.order);
  return t;
}

}  // namespace fettle::timing
