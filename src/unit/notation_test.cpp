// Reads every example of docs/notation.md, so that the page cannot say what the program does not do.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>

#include "base/text.h"
#include "unit/quantity.h"

using namespace fettle;
using unit::Kind;

namespace {

struct Example {
  int line = 0;
  std::string section, text, kind, means;
};

std::vector<Example> examples() {
  std::ifstream in(std::string(FETTLE_SOURCE_DIR) + "/docs/notation.md");
  EXPECT_TRUE(in.good());
  std::vector<Example> out;
  std::string section;
  int number = 0;
  for (std::string line; std::getline(in, line);) {
    ++number;
    if (base::starts_with(line, "## ")) section = line.substr(3);
    if (!base::starts_with(line, "| `")) continue;
    const std::size_t close = line.find('`', 3);
    const std::vector<std::string> rest = base::split(line.substr(close + 1), '|');
    EXPECT_EQ(rest.size(), 4U) << line;
    out.push_back({number, section, line.substr(3, close - 3), std::string(base::trim(rest[1])),
                   std::string(base::trim(rest[2]))});
  }
  return out;
}

Kind kind_of(const std::string& word) {
  for (int k = 0; k <= static_cast<int>(Kind::conductivity); ++k)
    if (unit::word(static_cast<Kind>(k)) == word) return static_cast<Kind>(k);
  ADD_FAILURE() << "no kind " << word;
  return Kind::number;
}

double si(const std::string& text, Kind kind) {
  const auto q = unit::parse(text, kind);
  EXPECT_TRUE(q.ok()) << text << ": " << (q.ok() ? "" : say(q.problem()));
  return q.ok() ? q->si : std::nan("");
}

std::string mm(double metres) { return base::shortest(unit::in_unit(metres, "mm")); }

std::string point(const frame::Vec3& p) { return fmt::format("({}, {}, {})", mm(p.x), mm(p.y), mm(p.z)); }

std::string ends(const std::optional<double>& low, const std::optional<double>& high) {
  return fmt::format("{}..{}", low ? "low" : "", high ? "high" : "");
}

/// "a .. b", either end may be missing.
void expect_ends(const Example& e, Kind kind, const std::optional<double>& low, const std::optional<double>& high) {
  const std::size_t dots = e.means.find("..");
  ASSERT_NE(dots, std::string::npos) << e.line;
  const std::string a(base::trim(e.means.substr(0, dots))), b(base::trim(e.means.substr(dots + 2)));
  ASSERT_EQ(ends(low, high), fmt::format("{}..{}", a.empty() ? "" : "low", b.empty() ? "" : "high")) << e.line;
  if (low) {
    EXPECT_NEAR(*low, si(a, kind), std::fabs(*low) * 1e-15) << e.line;
  }
  if (high) {
    EXPECT_NEAR(*high, si(b, kind), std::fabs(*high) * 1e-15) << e.line;
  }
}

template <class T>
void expect_ok(const Example& e, const Outcome<T>& o) {
  ASSERT_TRUE(o.ok()) << "line " << e.line << ": " << e.text << ": " << say(o.problem());
}

template <class T>
void expect_refused(const Example& e, const Outcome<T>& o) {
  ASSERT_FALSE(o.ok()) << "line " << e.line << ": " << e.text;
  EXPECT_NE(o.problem().what.find(e.means), std::string::npos) << "line " << e.line << ": " << say(o.problem());
}

std::string thread_words(const unit::Thread& t) {
  std::string s = fmt::format("{} mm, ", mm(t.major));
  s += t.pitch == 0 ? "coarse" : fmt::format("pitch {} mm", base::shortest(std::nearbyint(t.pitch * 1e9) / 1e6));
  if (!t.series.empty()) s += ", " + t.series;
  if (!t.tolerance_class.empty()) s += ", " + t.tolerance_class;
  return s;
}

}  // namespace

TEST(Notation, EveryExampleOfThePageHolds) {
  std::map<std::string, int> seen;
  for (const Example& e : examples()) {
    ++seen[e.section];
    if (e.section == "Quantities") {
      const Kind kind = kind_of(e.kind);
      EXPECT_NEAR(si(e.text, kind), si(e.means, kind), std::fabs(si(e.text, kind)) * 1e-15) << e.line;
    } else if (e.section == "Limits") {
      const auto l = unit::parse_limits(e.text, e.kind == "fit" ? Kind::length : kind_of(e.kind));
      expect_ok(e, l);
      if (e.kind != "fit") {
        expect_ends(e, kind_of(e.kind), l->lower, l->upper);
      } else {
        EXPECT_EQ(fmt::format("{} mm {}{}", mm(*l->nominal), l->fit->letter, l->fit->grade), e.means) << e.line;
      }
    } else if (e.section == "Values with a band") {
      const auto b = unit::parse_banded(e.text, kind_of(e.kind));
      expect_ok(e, b);
      expect_ends(e, kind_of(e.kind), b->low, b->high);
    } else if (e.section == "Spreads") {
      const Kind kind = kind_of(e.kind);
      const auto s = unit::parse_spread(e.text, kind);
      expect_ok(e, s);
      const bool normal = s->family == unit::Spread::Family::normal;
      const std::string head = normal ? "normal, s " : "uniform, half width ";
      ASSERT_TRUE(base::starts_with(e.means, head)) << e.line;
      const double expected = si(e.means.substr(head.size()), kind);
      EXPECT_NEAR(normal ? s->s : s->half_width, expected, expected * 1e-14) << e.line;
    } else if (e.kind == "points" && e.section == "Points and sizes") {
      const auto p = unit::parse_points(e.text);
      expect_ok(e, p);
      std::vector<std::string> words;
      for (const frame::Vec3& each : *p) words.push_back(point(each));
      EXPECT_EQ(base::join(words, " "), e.means) << e.line;
    } else if (e.kind == "sizes" && e.section == "Points and sizes") {
      const auto s = unit::parse_sizes(e.text);
      expect_ok(e, s);
      std::vector<std::string> words;
      for (double each : *s) words.push_back(mm(each));
      EXPECT_EQ(base::join(words, " "), e.means) << e.line;
    } else if (e.section == "Threads") {
      const auto t = unit::parse_thread(e.text);
      expect_ok(e, t);
      EXPECT_EQ(thread_words(*t), e.means) << e.line;
    } else if (e.section == "What is refused, and what is said") {
      if (e.kind == "limits") expect_refused(e, unit::parse_limits(e.text));
      else if (e.kind == "points") expect_refused(e, unit::parse_points(e.text));
      else if (e.kind == "sizes") expect_refused(e, unit::parse_sizes(e.text));
      else if (e.kind == "thread") expect_refused(e, unit::parse_thread(e.text));
      else expect_refused(e, unit::parse(e.text, kind_of(e.kind)));
    } else {
      ADD_FAILURE() << "line " << e.line << ": no test reads the examples of " << e.section;
    }
  }
  EXPECT_GT(seen["Quantities"], 30);
  EXPECT_GT(seen["Limits"], 15);
  EXPECT_GE(seen["Values with a band"], 4);
  EXPECT_GE(seen["Spreads"], 6);
  EXPECT_GE(seen["Points and sizes"], 6);
  EXPECT_GE(seen["Threads"], 6);
  EXPECT_GE(seen["What is refused, and what is said"], 20);
}
