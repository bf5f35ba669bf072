#include "begin/requirements.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <tuple>

#include "base/text.h"

namespace fettle::begin {

namespace {

constexpr double degree = 3.14159265358979323846 / 180;

/// A feature, or a part of one, that a drawing item is bound to.
struct Place {
  std::string reference;
  std::string part;  ///< "wall facing -x": which of its faces, when not all
  bool operator==(const Place&) const = default;
};

std::string bare(const std::string& reference) { return reference.substr(0, reference.find_first_of(".@")); }

/// Joins face numbers of the drawing to features of the plan.
class Binder {
 public:
  Binder(plan::Plan& plan, Features& features, const solid::Model& part, bool inch)
      : plan_(plan), features_(features), part_(part), inch_(inch) {}

  /// First look over all bindings: faces that no feature stands for become surfaces, numbered by place.
  void prepare(const std::vector<const step::Binding*>& all) {
    std::set<std::set<int>> sets;
    for (const step::Binding* b : all)
      if (const std::set<int> left = unheld(*b); !left.empty()) sets.insert(left);
    std::vector<std::set<int>> list(sets.begin(), sets.end());
    const auto key = [&](const std::set<int>& s) {
      const frame::Vec3 c = centre(s);
      return std::tuple(place_key(c.x), place_key(c.y), place_key(c.z), s.size());
    };
    std::stable_sort(list.begin(), list.end(), [&](const auto& a, const auto& b) { return key(a) < key(b); });
    for (const std::set<int>& s : list) surface(s);
  }

  std::vector<Place> places(const step::Binding& b) const {
    std::vector<Place> out;
    std::set<int> ids;
    for (std::uint64_t f : b.faces)
      if (part_.face(static_cast<int>(f)) != nullptr) ids.insert(static_cast<int>(f));
    std::vector<const Bound*> hit;
    std::map<std::string, std::size_t> of, hits;
    for (const Bound& x : features_.bound) {
      ++of[x.feature];
      if (std::none_of(ids.begin(), ids.end(), [&](int f) { return holder(f) == &x; })) continue;
      hit.push_back(&x);
      ++hits[x.feature];
    }
    for (const Bound* x : hit) {
      const bool pattern = x->reference.find('@') != std::string::npos;
      const Place p{pattern && hits[x->feature] == of[x->feature] ? x->feature : x->reference, part_of(*x, ids)};
      if (std::find(out.begin(), out.end(), p) == out.end()) out.push_back(p);
    }
    if (const std::set<int> left = unheld(b); !left.empty()) out.push_back({made_.at(left), {}});
    return out;
  }

 private:
  const Bound* holder(int face) const {
    const auto it = std::find_if(features_.bound.begin(), features_.bound.end(),
                                 [&](const Bound& x) { return x.faces.count(face) > 0; });
    return it == features_.bound.end() ? nullptr : &*it;
  }
  std::set<int> unheld(const step::Binding& b) const {
    std::set<int> left;
    for (std::uint64_t f : b.faces)
      if (part_.face(static_cast<int>(f)) != nullptr && holder(static_cast<int>(f)) == nullptr)
        left.insert(static_cast<int>(f));
    return left;
  }
  std::string part_of(const Bound& b, const std::set<int>& ids) const {
    if (!b.parts) return {};
    std::set<std::string> words;
    bool all = true;
    for (int id : b.faces) {
      if (ids.count(id) == 0) {
        all = false;
        continue;
      }
      const solid::Face& f = *part_.face(id);
      if (f.kind == solid::Kind::plane)
        words.insert((frame::dot(f.axis, b.axis) > 0.99 && b.diameter == 0 ? "floor facing " : "wall facing ") +
                     direction_text(f.axis));
      else words.insert(std::string(solid::word(f.kind)));
    }
    if (all) return {};
    if (words.size() > 2) return fmt::format("{} of its faces", ids_in(b, ids));
    return base::join(std::vector<std::string>(words.begin(), words.end()), " and ");
  }
  static std::size_t ids_in(const Bound& b, const std::set<int>& ids) {
    return static_cast<std::size_t>(
        std::count_if(b.faces.begin(), b.faces.end(), [&](int f) { return ids.count(f) > 0; }));
  }
  frame::Vec3 centre(const std::set<int>& faces) const {
    frame::Vec3 c;
    double area = 0;
    for (int id : faces) {
      const solid::Face& f = *part_.face(id);
      c = c + f.area * f.centroid;
      area += f.area;
    }
    return (1 / area) * c;
  }
  void surface(const std::set<int>& faces) {
    const std::string id = fmt::format("X{}", made_.size() + 1);
    std::map<std::string, int> kinds;
    for (int f : faces) ++kinds[std::string(solid::word(part_.face(f)->kind))];
    std::vector<std::string> words;
    for (const auto& [kind, n] : kinds) words.push_back(n == 1 ? kind : fmt::format("{} {} faces", n, kind));
    plan::Feature f;
    give(f.id, id);
    give(f.kind, "surface");
    give(f.name, base::join(words, ", "));
    give(f.at, {centre(faces)}, inch_);
    const solid::Face& first = *part_.face(*faces.begin());
    const bool one_way = std::all_of(faces.begin(), faces.end(), [&](int x) {
      const solid::Face& g = *part_.face(x);
      return g.kind == solid::Kind::plane && frame::dot(g.axis, first.axis) > 1 - 1e-9;
    });
    if (one_way && !axis_word(first.axis).empty()) give(f.normal, axis_word(first.axis));
    else if (one_way) give(f.note, "its normal is " + direction_text(first.axis));
    if (faces.size() == 1 && first.kind == solid::Kind::cylinder)
      give(f.note,
           fmt::format("radius {}, axis along {}", length_text(first.radius, inch_), direction_text(first.axis)));
    plan_.features.push_back(f);
    made_[faces] = id;
  }

  plan::Plan& plan_;
  Features& features_;
  const solid::Model& part_;
  bool inch_;
  std::map<std::set<int>, std::string> made_;
};

std::string number(double x, bool angular, bool inch) {
  const double u = angular ? degree : inch ? 0.0254 : 1e-3;
  return base::shortest(std::round(x / u * 1e7) / 1e7 + 0.0);
}
const char* unit_of(bool angular, bool inch) { return angular ? " deg" : inch ? " in" : " mm"; }

std::string limits_text(const step::Dimension& d, bool inch) {
  const std::string unit = unit_of(d.angular, inch), round = d.kind == step::DimensionKind::diameter ? "Ø" : "";
  const auto n = [&](double x) { return number(x, d.angular, inch); };
  if (d.fit && d.nominal && d.fit->grade > 0 && !d.least)
    return fmt::format("{}{} {}{}{}", round, n(*d.nominal), d.fit->letter, d.fit->grade, unit);
  if (d.least && d.most) return fmt::format("{}{}..{}{}", round, n(*d.least), n(*d.most), unit);
  if (d.least) return fmt::format("min {}{}{}", round, n(*d.least), unit);
  if (d.most) return fmt::format("max {}{}{}", round, n(*d.most), unit);
  return {};
}

const char* kind_word(step::ToleranceKind k) {
  using T = step::ToleranceKind;
  static const std::map<T, const char*> words = {
      {T::angularity, "angularity"},     {T::circular_runout, "runout"},
      {T::coaxiality, "coaxiality"},     {T::concentricity, "coaxiality"},
      {T::cylindricity, "cylindricity"}, {T::flatness, "flatness"},
      {T::line_profile, "profile"},      {T::surface_profile, "profile"},
      {T::parallelism, "parallelism"},   {T::perpendicularity, "perpendicularity"},
      {T::position, "position"},         {T::roundness, "roundness"},
      {T::straightness, "straightness"}, {T::symmetry, "symmetry"},
      {T::total_runout, "total runout"}};
  const auto it = words.find(k);
  return it == words.end() ? "other" : it->second;
}

const char* kind_word(const step::Dimension& d) {
  using D = step::DimensionKind;
  if (d.angular || d.kind == D::angle) return "angle";
  return d.kind == D::distance || d.kind == D::length || d.kind == D::curve_length ? "distance" : "size";
}

/// What the kernel measures on round faces against what the drawing says; empty when they agree or nothing is round.
std::string disagreement(const step::Dimension& d, const solid::Model& part) {
  using D = step::DimensionKind;
  if ((d.kind != D::diameter && d.kind != D::radius) || d.ends.size() != 1) return {};
  const double times = d.kind == D::diameter ? 2 : 1;
  for (std::uint64_t id : d.ends[0].faces) {
    const solid::Face* f = part.face(static_cast<int>(id));
    if (f == nullptr || f->kind != solid::Kind::cylinder) continue;
    const double got = times * f->radius, slack = 1e-6 + 1e-6 * got;
    const bool nominal = d.nominal && std::fabs(got - *d.nominal) <= slack;
    const bool within =
        (d.least || d.most) && got >= d.least.value_or(0) - slack && got <= d.most.value_or(1e9) + slack;
    if (!nominal && !within) return fmt::format("the solid measures {} mm", number(got, false, false));
  }
  return {};
}

std::string words_of(const std::vector<Place>& places) {
  std::vector<std::string> out;
  for (const Place& p : places) out.push_back(p.part.empty() ? p.reference : p.reference + " (" + p.part + ")");
  if (out.size() > 4) {
    const std::size_t n = out.size() - 3;
    out.resize(3);
    out.push_back(fmt::format("{} more", n));
  }
  return out.empty() ? "" : " on " + base::join(out, ", ");
}

const char* word(step::Standing s) {
  return s == step::Standing::basic ? "basic" : s == step::Standing::reference ? "reference" : "open";
}

/// Everything about one requirement before it has an id.
struct Asked {
  plan::Requirement r;
  std::string stem;  ///< of its id
  std::uint64_t entity = 0;
  std::tuple<std::size_t, std::string, std::string, std::string, std::string, std::string> order;
};

class Writer {
 public:
  Writer(plan::Plan& plan, Binder& binder, const Drawing& drawing, const solid::Model& part, bool inch, Begun& out)
      : plan_(plan), binder_(binder), drawing_(drawing), part_(part), inch_(inch), out_(out) {}

  void datums() {
    std::map<std::string, std::vector<std::string>> letters;  // feature -> letter by point
    std::vector<const step::Datum*> list;
    for (const step::Datum& d : drawing_.pmi.datums) list.push_back(&d);
    std::sort(list.begin(), list.end(), [](const auto* a, const auto* b) { return a->letter < b->letter; });
    for (const step::Datum* d : list) {
      if (carried_.count(d->letter) > 0) continue;
      const auto places = binder_.places(d->on);
      if (places.size() == 1 && places[0].part.empty() && on_feature(places[0].reference, d->letter, letters)) {
        carried_.insert(d->letter);
        continue;
      }
      own_feature(*d, places);
      carried_.insert(d->letter);
    }
    for (const auto& [id, by_point] : letters)
      for (plan::Feature& f : plan_.features)
        if (f.id.value == id) give(f.datum, base::join(by_point, " "));
  }

  void dimension(const step::Dimension& d, const step::Judged& j) {
    const std::string limits = limits_text(d, inch_);
    const auto from = d.ends.empty() ? std::vector<Place>{} : binder_.places(d.ends[0]);
    const auto to = d.ends.size() > 1 ? binder_.places(d.ends[1]) : std::vector<Place>{};
    const std::string said =
        limits.empty() && d.nominal ? number(*d.nominal, d.angular, inch_) + unit_of(d.angular, inch_) : limits;
    std::string title = fmt::format("{}{}{}", kind_word(d), said.empty() ? "" : " " + said, words_of(from));
    if (!to.empty()) title += " to" + words_of(to).substr(3);
    if (j.standing != step::Standing::requirement) return leave(title, j.standing, j.why);
    if (const std::string no = disagreement(d, part_); !no.empty()) return leave(title, step::Standing::open, no);
    if (from.empty() || limits.empty() || (d.ends.size() > 1 && to.empty()))
      return leave(
          title, step::Standing::open,
          d.ends.size() > 1 ? "one of its ends is bound to no face of the solid" : "bound to no face of the solid");
    ++out_.drawn.requirements;
    const std::string origin = fmt::format("{} of the model", base::lower(words(d.entity_name)));
    // Pairs of ends when they match one to one; else the first of each, and the note says the others.
    const bool paired = to.empty() || to.size() == 1 || from.size() == to.size();
    for (std::size_t k = 0; k < (paired ? from.size() : 1); ++k) {
      Asked a;
      const Place other = to.empty() ? Place{} : to[to.size() == 1 ? 0 : k];
      const bool within = !to.empty() && other.reference == from[k].reference;
      start(a, from[k].reference, within ? "size" : kind_word(d), within ? "" : other.reference);
      if (within && d.angular) give(a.r.kind, "angle");
      give(a.r.limits, limits, d.angular ? unit::Kind::angle : unit::Kind::length);
      if (!to.empty() && !within) give(a.r.to, other.reference);
      std::string note;
      if (within) note = fmt::format("between its own faces: {}, {}", from[k].part, other.part);
      else if (!from[k].part.empty() || !other.part.empty())
        note = fmt::format("{}{}", from[k].part, other.part.empty() ? "" : " to " + other.part);
      if (!paired) note = words_of(from).substr(1) + " to " + words_of(to).substr(4);
      if (d.kind == step::DimensionKind::radius) note = note.empty() ? "a radius" : "a radius; " + note;
      a.entity = d.entity;
      finish(a, note, counted(d.count, from), origin);
    }
  }

  void tolerance(const step::Tolerance& t, const step::Judged& j) {
    const auto on = binder_.places(t.on);
    const std::string size = t.value ? number(*t.value, t.angular, inch_) + unit_of(t.angular, inch_) : "";
    std::vector<std::string> frame;
    std::string lost;
    for (const step::Compartment& c : t.frame) {
      frame.push_back(c.text());
      for (const step::DatumUse& u : c.datums)
        if (carried_.count(u.letter) == 0) lost = u.letter;
    }
    const std::string title = fmt::format("{}{}{}{}", kind_word(t.kind), size.empty() ? "" : " " + size,
                                          frame.empty() ? "" : " to " + base::join(frame, "|"), words_of(on));
    if (j.standing != step::Standing::requirement) return leave(title, j.standing, j.why);
    if (on.empty()) return leave(title, step::Standing::open, "bound to no face of the solid");
    if (!lost.empty()) return leave(title, step::Standing::open, "datum " + lost + " is on no feature");
    if (t.angular) return leave(title, step::Standing::open, "a zone given as an angle");
    ++out_.drawn.requirements;
    const std::string origin = fmt::format("{} of the model", base::lower(words(t.entity_name)));
    for (const Place& p : on) {
      Asked a;
      start(a, p.reference, kind_word(t.kind), "");
      give(a.r.limits, "max " + size);
      for (const std::string& letters : frame) give(a.r.datums, letters);
      if (t.zone.find("ylind") != std::string::npos) give(a.r.modifiers, "round zone");
      if (t.kind == step::ToleranceKind::line_profile) give(a.r.modifiers, "of a line");
      if (t.all_around) give(a.r.modifiers, "all around");
      std::string note = p.part;
      if (on.size() > 1) note += (note.empty() ? "" : "; ") + fmt::format("one tolerance{}", words_of(on));
      a.entity = t.entity;
      finish(a, note, counted(t.count, on), origin);
    }
  }

  /// Ids by feature and kind; the same model gives the same, whatever its numbers.
  void done() {
    std::stable_sort(asked_.begin(), asked_.end(), [](const Asked& a, const Asked& b) { return a.order < b.order; });
    std::map<std::string, int> before;
    for (Asked& a : asked_) {
      const int n = before[a.stem]++;
      give(a.r.id, n == 0   ? a.stem
                   : n < 26 ? a.stem + "-" + static_cast<char>('a' + n)
                            : fmt::format("{}-{}", a.stem, n + 1));
      plan_.requirements.push_back(a.r);
      out_.entity_of[a.r.id.value] = a.entity;
    }
    std::sort(out_.drawn.open.begin(), out_.drawn.open.end());
  }

 private:
  static std::string words(std::string s) {
    std::replace(s.begin(), s.end(), '_', ' ');
    return s;
  }

  void leave(const std::string& title, step::Standing standing, const std::string& why) {
    ++(standing == step::Standing::basic       ? out_.drawn.basic
       : standing == step::Standing::reference ? out_.drawn.reference
                                               : out_.drawn.left_open);
    std::string reason = why;
    for (const char* head : {"basic: ", "reference: "})
      if (base::starts_with(reason, head)) reason = reason.substr(std::string(head).size());
    out_.drawn.open.push_back(
        fmt::format("{}: {}{}", word(standing), title, reason.empty() ? "" : " (" + reason + ")"));
  }

  void start(Asked& a, const std::string& from, const std::string& kind, const std::string& to) {
    give(a.r.feature, from);
    give(a.r.kind, kind);
    std::string which = from;
    if (!to.empty()) {
      const bool sides = bare(from) == bare(to) && from.find('.') != std::string::npos && from.back() == to.back();
      which = sides ? bare(from) + "." + from.back() : from + "-" + to;
    }
    std::string tail = kind;
    std::replace(tail.begin(), tail.end(), ' ', '-');
    a.stem = which + "." + tail;
  }

  void finish(Asked& a, const std::string& note, const std::string& count, const std::string& origin) {
    std::string all = note;
    if (!count.empty()) all += (all.empty() ? "" : "; ") + count;
    if (!all.empty()) give(a.r.note, all);
    give(a.r.origin, origin);
    std::size_t row = 0;
    while (row < plan_.features.size() && plan_.features[row].id.value != bare(a.r.feature.value)) ++row;
    a.order = {row, a.r.feature.value, a.stem, base::join(a.r.datums.value, "|"), a.r.limits.typed, all};
    asked_.push_back(a);
  }

  /// What to say when the callout counts other than the faces bound.
  std::string counted(int count, const std::vector<Place>& on) const {
    if (count < 2) return {};
    int found = 0;
    for (const Place& p : on) {
      int points = 1;
      if (p.reference.find('@') == std::string::npos)
        for (const plan::Feature& f : plan_.features)
          if (f.id.value == p.reference) points = std::max(1, static_cast<int>(f.at.value.size()));
      found += points;
    }
    return found == count ? "" : fmt::format("the callout says {}X, bound to {}", count, found);
  }

  /// The letter on the feature itself, when the plan can say so.
  bool on_feature(const std::string& reference, const std::string& letter,
                  std::map<std::string, std::vector<std::string>>& letters) {
    if (reference.find('.') != std::string::npos) return false;
    const std::string id = bare(reference);
    const std::size_t at = reference.find('@');
    const auto f =
        std::find_if(plan_.features.begin(), plan_.features.end(), [&](const auto& x) { return x.id.value == id; });
    if (f == plan_.features.end()) return false;
    auto& here = letters[id];
    if (at == std::string::npos) {
      if (!here.empty()) return false;
      here = {letter};
      return true;
    }
    if (here.empty()) here.assign(f->at.value.size(), "-");
    const std::size_t k = static_cast<std::size_t>(std::stoi(reference.substr(at + 1))) - 1;
    if (k >= here.size() || here.size() != f->at.value.size() || here[k] != "-") return false;
    here[k] = letter;
    return true;
  }

  /// A datum on several features, on a side of the profile, or only on targets is a feature of its own.
  void own_feature(const step::Datum& d, const std::vector<Place>& places) {
    plan::Feature f;
    give(f.id, "datum-" + d.letter);
    give(f.kind, "datum");
    give(f.name, "datum " + d.letter);
    frame::Vec3 at, normal;
    double area = 0;
    bool flat = true;
    for (std::uint64_t id : d.on.faces) {
      const solid::Face* face = part_.face(static_cast<int>(id));
      if (face == nullptr) continue;
      at = at + face->area * face->centroid;
      flat = flat && face->kind == solid::Kind::plane && (area == 0 || frame::dot(face->axis, normal) > 1 - 1e-9);
      normal = face->axis;
      area += face->area;
    }
    if (area > 0) give(f.at, {(1 / area) * at}, inch_);
    if (area > 0 && flat && !axis_word(normal).empty()) give(f.normal, axis_word(normal));
    give(f.datum, d.letter);
    give(f.note, !places.empty()      ? words_of(places).substr(1)
                 : !d.targets.empty() ? fmt::format("{} datum targets", d.targets.size())
                                      : "bound to no face of the solid");
    plan_.features.push_back(f);
  }

  plan::Plan& plan_;
  Binder& binder_;
  const Drawing& drawing_;
  const solid::Model& part_;
  bool inch_;
  Begun& out_;
  std::set<std::string> carried_;
  std::vector<Asked> asked_;
};

}  // namespace

void requirements_of(plan::Plan& plan, Features& features, const solid::Model& part, const Drawing& drawing, bool inch,
                     Begun& out) {
  const step::Pmi& pmi = drawing.pmi;
  out.drawn.dimensions = static_cast<int>(pmi.dimensions.size());
  out.drawn.tolerances = static_cast<int>(pmi.tolerances.size());
  out.drawn.datums = static_cast<int>(pmi.datums.size());
  Binder binder(plan, features, part, inch);
  std::vector<const step::Binding*> all;
  for (const step::Datum& d : pmi.datums) all.push_back(&d.on);
  for (const step::Dimension& d : pmi.dimensions)
    for (const step::Binding& b : d.ends) all.push_back(&b);
  for (const step::Tolerance& t : pmi.tolerances) all.push_back(&t.on);
  binder.prepare(all);
  Writer writer(plan, binder, drawing, part, inch, out);
  writer.datums();
  std::size_t i = 0;
  for (const step::Dimension& d : pmi.dimensions) writer.dimension(d, drawing.judged[i++]);
  for (const step::Tolerance& t : pmi.tolerances) writer.tolerance(t, drawing.judged[i++]);
  writer.done();
  for (const step::Unread& u : pmi.unread) {
    ++out.drawn.unread;
    out.drawn.open.push_back(fmt::format("not read: {} ({})", u.entity_name, u.why));
  }
}

}  // namespace fettle::begin
