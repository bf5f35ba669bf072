#include "compose/on_paper.h"

#include <cmath>
#include <cstddef>

#include "base/text.h"

namespace fettle::compose::paper {

Machine::Machine(const Composition& c, std::map<std::string, double> values, std::deque<frame::Vec3> touches,
                 double length)
    : c_(c), values_(std::move(values)), touches_(std::move(touches)), length_(length) {}

std::vector<Place> Machine::run() {
  steps(c_.main);
  return places_;
}

// Neutral texts: <name>, {metres}, numbers, [ ], ABS[ ], + - * /.

double Machine::number(const std::string& text) {
  text_ = text;
  at_ = 0;
  const double v = sum();
  blanks();
  wrong_ = wrong_ || at_ != text_.size();
  return v;
}

void Machine::blanks() {
  while (at_ < text_.size() && text_[at_] == ' ') ++at_;
}

bool Machine::take(char c) {
  blanks();
  if (at_ >= text_.size() || text_[at_] != c) return false;
  ++at_;
  return true;
}

double Machine::sum() {
  double v = product();
  while (true) {
    if (take('+')) v += product();
    else if (take('-')) v -= product();
    else return v;
  }
}

double Machine::product() {
  double v = factor();
  while (true) {
    if (take('*')) v *= factor();
    else if (take('/')) v /= factor();
    else return v;
  }
}

double Machine::factor() {
  blanks();
  if (take('[')) {
    const double v = sum();
    wrong_ = !take(']') || wrong_;
    return v;
  }
  if (text_.compare(at_, 4, "ABS[") == 0) {
    at_ += 3;
    return std::fabs(factor());
  }
  if (take('<')) return values_[until('>')];
  if (take('{')) return base::to_double(until('}')).value_or(0);
  const std::size_t begin = at_;
  while (at_ < text_.size() && (text_[at_] == '.' || text_[at_] == '-' || (text_[at_] >= '0' && text_[at_] <= '9')))
    ++at_;
  const std::optional<double> v = base::to_double(text_.substr(begin, at_ - begin));
  wrong_ = wrong_ || !v;
  if (at_ == begin) at_ = text_.size();
  return v.value_or(0);
}

std::string Machine::until(char c) {
  const std::size_t e = text_.find(c, at_);
  const std::string s = text_.substr(at_, e - at_);
  at_ = e + 1;
  return s;
}

bool Machine::holds(const Step& s) {
  const double a = number(s.left), b = number(s.right);
  switch (s.compare) {
    case Compare::equal:
      return std::fabs(a - b) < 1e-9;
    case Compare::unequal:
      return std::fabs(a - b) >= 1e-9;
    case Compare::greater:
      return a > b;
    case Compare::at_least:
      return a >= b;
    case Compare::less:
      return a < b;
    default:
      return a <= b;
  }
}

void Machine::steps(const Steps& all) {
  for (std::size_t i = 0; i < all.size() && !over_;) i = one(all, i);
}

std::size_t Machine::end_of(const Steps& all, std::size_t i) {
  int depth = 0;
  for (; i < all.size(); ++i) {
    if (all[i].what == Do::when || all[i].what == Do::again) ++depth;
    if (all[i].what == Do::end_when || all[i].what == Do::end_again)
      if (--depth == 0) return i;
  }
  wrong_ = true;
  return all.size() - 1;
}

std::size_t Machine::one(const Steps& all, std::size_t i) {
  const Step& s = all[i];
  if (s.what == Do::when) return holds(s) ? i + 1 : end_of(all, i) + 1;
  if (s.what == Do::again) {
    if (holds(s)) {
      ++stops_;
      over_ = true;  // it would stand there until a person does something
    }
    return end_of(all, i) + 1;
  }
  run_one(s);
  return i + 1;
}

frame::Vec3 Machine::tip() const {
  frame::Vec3 p = nose_ - origin_;
  p.z -= active_;
  return p;
}

void Machine::go(const std::string& kind, frame::Vec3 to) {
  nose_ = to + origin_;
  nose_.z += active_;
  note(kind);
}

void Machine::note(const std::string& kind) { places_.push_back({kind, {nose_.x, nose_.y, nose_.z - active_}, tool_}); }

frame::Vec3 Machine::to_of(const Step& s) {
  frame::Vec3 to = tip();
  if (s.x) to.x = *s.x;
  if (s.y) to.y = *s.y;
  if (s.z) to.z = *s.z;
  if (!s.x_text.empty()) to.x = number(s.x_text);
  if (!s.y_text.empty()) to.y = number(s.y_text);
  if (!s.z_text.empty()) to.z = number(s.z_text);
  return to;
}

void Machine::top() {
  nose_.z = 0;
  note("rapid");
}

void Machine::run_one(const Step& s) {
  switch (s.what) {
    case Do::safe_start:
      active_ = 0;
      top();
      break;
    case Do::retract:
      top();
      break;
    case Do::tool_change:
      tool_ = s.tool;
      break;
    case Do::length_on: {
      active_ = length_;
      go("rapid", to_of(s));
      break;
    }
    case Do::rapid:
      go("rapid", to_of(s));
      break;
    case Do::line:
      go("feed", to_of(s));
      break;
    case Do::arc:
      go("arc", to_of(s));
      break;
    case Do::probe:
      probe(s);
      break;
    case Do::cycle:
      cycle(s);
      break;
    case Do::zero:
      origin_ = zeros_[s.nest];
      break;
    case Do::write_zero: {
      const frame::Vec3 z{number(s.x_text), number(s.y_text), number(s.z_text)};
      zeros_[s.nest] = z;
      break;
    }
    case Do::set:
      values_[s.name] = number(s.left);
      break;
    case Do::stop:
      ++stops_;
      break;
    case Do::call:
      for (const Subprogram& sub : c_.subs)
        if (sub.number == s.sub) steps(sub.steps);
      break;
    case Do::end:
      over_ = true;
      break;
    default:
      break;
  }
}

void Machine::cycle(const Step& s) {
  frame::Vec3 p = tip();
  const double old = p.z;
  p.x = *s.x;
  p.y = *s.y;
  go("rapid", p);
  const auto down = [&](const char* kind, double z) {
    p.z = z;
    go(kind, p);
  };
  if (old != s.clear) down("rapid", s.clear);
  if (s.cycle == Cycle::peck) {
    for (double depth = s.clear - s.peck; depth > *s.z + 1e-9; depth -= s.peck) {
      down("feed", depth);
      down("rapid", s.clear);
      down("rapid", depth + 0.254e-3);
    }
  }
  down("feed", *s.z);
  const bool slow = s.cycle == Cycle::tap || s.cycle == Cycle::bore_out_at_feed;
  down(slow ? "feed" : "rapid", old);
}

void Machine::probe(const Step& s) {
  frame::Vec3 to = to_of(s);
  if (!touches_.empty()) {
    to = touches_.front();
    touches_.pop_front();
  } else if (!touches_nothing && !s.left.empty()) {
    const double at = number(s.left);
    (!s.x_text.empty() ? to.x : !s.y_text.empty() ? to.y : to.z) = at;
  }
  go("probe", to);
  touched_.push_back(to);
  values_["probe_x"] = to.x;
  values_["probe_y"] = to.y;
  values_["probe_z"] = to.z;
}

std::map<std::string, double> typed_in(const Composition& c) {
  std::map<std::string, double> v;
  for (const Parameter& p : c.parameters) v[p.name] = p.start.value_or(0);
  v["known"] = c.key;
  for (const Parameter& p : c.parameters) {
    if (p.name.compare(0, 5, "base_") == 0) {
      const double pallet = p.name[7] - '0';
      v[p.name] = p.name.back() == 'x' ? -0.7 + 0.35 * pallet : p.name.back() == 'y' ? -0.203 : -0.4;
    }
    if (p.name.compare(0, 4, "pin_") != 0) continue;
    v[p.name] = p.name == "pin_1_x"   ? -0.15
                : p.name == "pin_2_x" ? 0.15
                : p.name == "pin_d"   ? 0.01
                : p.name == "pin_top" ? 0.02
                                      : 0;
  }
  return v;
}

}  // namespace fettle::compose::paper
