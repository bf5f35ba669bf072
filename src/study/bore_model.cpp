#include "study/bore_model.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "base/text.h"
#include "ref/fits.h"
#include "study/cost.h"
#include "study/readings.h"

namespace fettle::study {

namespace {

bool names(const std::vector<std::string>& references, const std::string& id) {
  return std::any_of(references.begin(), references.end(),
                     [&](const std::string& r) { return plan::parse_reference(r).id == id; });
}

bool bored(const plan::Feature& f) {
  const std::string& k = f.kind.value;
  return k == "bore" || k == "hole" || k == "counterbore";
}

/// The bytes of a reading's file. A file that cannot be read is a problem at the plan's line.
const std::string* text_of(Context& c, const plan::Reading& r) {
  const auto bytes = c.data.files.find(r.file.value);
  if (bytes != c.data.files.end()) return &bytes->second;
  const auto why = c.data.not_read.find(r.file.value);
  Problem p =
      bad("the file of readings cannot be read" + (why == c.data.not_read.end() ? std::string() : ": " + why->second),
          r.file.value, "a CSV file beside the plan");
  if (r.file.place.file >= 0)
    p.where = {c.plan.files[static_cast<std::size_t>(r.file.place.file)].path, r.file.place.line, r.file.place.column};
  c.problems.push_back(std::move(p));
  return nullptr;
}

/// The value, or nothing and its problems handed on.
template <class T>
std::optional<T> take(Context& c, Outcome<T> outcome) {
  if (outcome.ok()) return std::move(outcome.value());
  for (const Problem& p : outcome.problems()) c.problems.push_back(p);
  return std::nullopt;
}

const std::vector<std::string> part_words = {"no", "nr", "number", "part", "teil", "lfdnr", "piece", "id"};
const std::vector<std::string> stretch_words = {"setting", "set", "reset", "edge", "insert", "stretch", "schneide"};
const std::vector<std::string> person_words = {"person", "who", "operator", "appraiser", "people", "pruefer", "prüfer"};
const std::vector<std::string> trial_words = {"trial", "repeat", "time", "turn", "versuch", "durchgang"};
const std::vector<std::string> reading_words = {"reading", "value", "size", "diameter", "messwert", "wert"};
const std::vector<std::string> warm_words = {"temperature", "temp", "temperatur", "parttemperature"};
const std::vector<std::string> note_words = {"note", "remark", "date", "time", "bemerkung", "datum", "nest", "pallet"};

/// The column that holds the sizes: named like the feature, like a reading, or the only one left.
int size_column(const ReadingTable& t, const std::string& feature) {
  std::string plain;
  for (char ch : base::lower(feature))
    if (ch != '-' && ch != '.' && ch != '_') plain += ch;
  if (const int k = t.find({plain}); k >= 0) return k;
  if (const int k = t.find(reading_words); k >= 0) return k;
  int left = -1;
  for (int i = 0; i < static_cast<int>(t.columns.size()); ++i) {
    const auto is = [&](const std::vector<std::string>& words) {
      ReadingTable one;
      one.columns = {t.columns[static_cast<std::size_t>(i)]};
      return one.find(words) >= 0;
    };
    if (is(part_words) || is(stretch_words) || is(warm_words) || is(note_words) || is(person_words) || is(trial_words))
      continue;
    if (left >= 0) return -1;
    left = i;
  }
  return left;
}

Problem no_column(const ReadingTable& t, const std::string& what, const std::string& expected) {
  std::vector<std::string> headers;
  for (const ReadingColumn& k : t.columns) headers.push_back(k.header);
  Problem p = bad(what, base::join(headers, ", "), expected);
  p.where = {t.file, t.header_line, 1};
  return p;
}

void read_run(Context& c, const plan::Reading& r, Bore& b) {
  const std::string* text = text_of(c, r);
  if (text == nullptr) return;
  const auto table = take(c, cut_table(*text, r.file.value));
  if (!table) return;
  const std::string& feature = b.feature->id.value;
  const int k = size_column(*table, feature);
  if (k < 0) {
    c.problems.push_back(no_column(*table, "no column holds the sizes of " + feature, "\"" + feature + " [mm]\""));
    return;
  }
  const auto sizes = take(c, numbers_of(*table, k, unit::Kind::length, r.unit.known() ? r.unit.value : ""));
  if (!sizes) return;
  const double nominal = 0.5 * (*b.limits.lower + *b.limits.upper);
  for (std::size_t i = 0; i < sizes->size(); ++i)
    if (!((*sizes)[i] > 0.9 * nominal && (*sizes)[i] < 1.1 * nominal)) {
      const ReadingCell& cell = table->rows[i].cells[static_cast<std::size_t>(k)];
      Problem p = bad("a reading is far from the size of " + feature, cell.text,
                      fmt::format("about {}; differences are said in the header as \"{} above {} [mm]\"",
                                  unit::print(nominal, unit::Kind::length, c.style), feature,
                                  base::shortest(1e3 * *b.limits.lower)));
      p.where = {table->file, table->rows[i].line, cell.column};
      c.problems.push_back(std::move(p));
      return;
    }
  b.run.there = true;
  b.run.id = r.id.value;
  b.run.sizes = *sizes;
  if (const int n = table->find(part_words); n >= 0)
    if (auto words = take(c, words_of_column(*table, n))) b.run.names = std::move(*words);
  if (const int n = table->find(stretch_words); n >= 0) {
    const auto words = take(c, words_of_column(*table, n));
    for (std::size_t i = 0; words && i < words->size(); ++i)
      b.run.stretch.push_back(i == 0 ? 1 : b.run.stretch.back() + ((*words)[i] != (*words)[i - 1] ? 1 : 0));
  }
  if (const int n = table->find(warm_words); n >= 0)
    if (auto t = take(c, numbers_of(*table, n, unit::Kind::temperature))) b.run.temperature = std::move(*t);
}

void read_study(Context& c, const plan::Reading& r, Bore& b) {
  const std::string* text = text_of(c, r);
  if (text == nullptr) return;
  const auto table = take(c, cut_table(*text, r.file.value));
  if (!table) return;
  const int who = table->find(person_words), when = table->find(trial_words), part = table->find(part_words),
            k = size_column(*table, b.feature->id.value);
  if (who < 0 || when < 0 || part < 0 || k < 0) {
    c.problems.push_back(no_column(*table, "a gauge study needs a person, a trial, a part and a reading in each row",
                                   "person, trial, part, reading [µm]"));
    return;
  }
  const auto sizes = take(c, numbers_of(*table, k, unit::Kind::length, r.unit.known() ? r.unit.value : ""));
  const auto people = take(c, words_of_column(*table, who)), trials = take(c, words_of_column(*table, when)),
             parts = take(c, words_of_column(*table, part));
  if (!sizes || !people || !trials || !parts) return;
  const auto listed = [](const std::vector<std::string>& words) {
    std::vector<std::string> out;
    for (const std::string& w : words)
      if (std::find(out.begin(), out.end(), w) == out.end()) out.push_back(w);
    return out;
  };
  const std::vector<std::string> p = listed(*people), t = listed(*trials), q = listed(*parts);
  std::map<std::string, double> read;
  const auto key = [](const std::string& x, const std::string& y, const std::string& z) {
    return x + "\n" + y + "\n" + z;
  };
  const auto problem = [&](std::size_t row, const std::string& what, const std::string& found) {
    Problem x = bad(what, found);
    x.where = {table->file, row < table->rows.size() ? table->rows[row].line : table->rows.back().line, 1};
    c.problems.push_back(std::move(x));
  };
  for (std::size_t i = 0; i < sizes->size(); ++i)
    if (!read.emplace(key((*people)[i], (*trials)[i], (*parts)[i]), (*sizes)[i]).second)
      return problem(i, "this person read this part in this trial twice",
                     fmt::format("{}, trial {}, part {}", (*people)[i], (*trials)[i], (*parts)[i]));
  bore::StudyInputs& in = b.study.inputs;
  for (const std::string& x : p)
    for (const std::string& y : t)
      for (const std::string& z : q) {
        const auto it = read.find(key(x, y, z));
        if (it == read.end())
          return problem(sizes->size(), "a reading of the gauge study is missing",
                         fmt::format("{}, trial {}, part {}", x, y, z));
        in.readings.push_back(it->second);
      }
  in.persons = static_cast<int>(p.size());
  in.trials = static_cast<int>(t.size());
  in.parts = static_cast<int>(q.size());
  in.tolerance = *b.limits.upper - *b.limits.lower;
  b.study.people = p;
  b.study.parts = q;
  b.study.id = r.id.value;
  b.study.there = true;
}

/// The last operation and cut that bring the feature to its size; a hone is looked up apart.
void find_cut(const plan::Plan& plan, Bore& b) {
  for (const plan::Operation& o : plan.operations) {
    if (o.kind.value == "hone") continue;
    for (const plan::Cut& k : o.cuts) {
      const std::string& kind = k.kind.value;
      if (!names(k.features.value, b.feature->id.value)) continue;
      if (kind == "chamfer" || kind == "probe") continue;
      b.operation = &o;
      b.cut = &k;
    }
    if (b.cut == nullptr && names(o.makes.value, b.feature->id.value)) b.operation = &o;
  }
}

}  // namespace

std::vector<Bore> close_bores(Context& c) {
  const plan::Plan& p = c.plan;
  std::vector<Bore> out;
  for (const plan::Feature& f : p.features) {
    if (!bored(f) || f.over.known()) continue;
    Bore b;
    b.feature = &f;
    const std::string& id = f.id.value;
    for (const plan::Requirement& r : p.requirements)
      if (r.kind.value == "size" && r.feature.known() && plan::parse_reference(r.feature.value).id == id)
        b.requirement = &r;
    b.limits =
        b.requirement != nullptr && b.requirement->limits.known() ? b.requirement->limits.value : f.diameter.value;
    if (b.limits.kind != unit::Kind::length || !b.limits.lower || !b.limits.upper ||
        !(*b.limits.upper > *b.limits.lower) || !(*b.limits.lower > 0))
      continue;
    const auto it6 = ref::tolerance_of_grade(0.5 * (*b.limits.lower + *b.limits.upper), 6);
    const bool close = b.requirement != nullptr && it6.ok() && *b.limits.upper - *b.limits.lower <= *it6 * (1 + 1e-9);
    const bool named = b.requirement != nullptr && b.requirement->gauge.known();
    for (const plan::Gauge& g : p.shop.gauges)
      if ((named ? g.id.value == b.requirement->gauge.value : names(g.features.value, id)) &&
          (b.gauge == nullptr || (g.uncertainty.known() && !(g.uncertainty.si >= b.gauge->uncertainty.si))))
        b.gauge = &g;
    const auto reading = [&](const char* kind) -> const plan::Reading* {
      for (const plan::Reading& r : p.readings)
        if (r.kind.value == kind && r.feature.known() && plan::parse_reference(r.feature.value).id == id) return &r;
      return nullptr;
    };
    const plan::Reading *run = reading("run"), *study = reading("gauge study");
    if (!close && b.gauge == nullptr && run == nullptr && study == nullptr) continue;
    find_cut(p, b);
    for (const plan::Operation& o : p.operations) {
      if (o.kind.value != "hone") continue;
      const bool said = !o.makes.value.empty() || std::any_of(o.cuts.begin(), o.cuts.end(), [](const plan::Cut& k) {
        return !k.features.value.empty();
      });
      const bool this_one = names(o.makes.value, id) || std::any_of(o.cuts.begin(), o.cuts.end(), [&](const auto& k) {
                              return names(k.features.value, id);
                            });
      if (this_one || (!said && close)) b.hone = &o;
    }
    for (const plan::SpreadOf& s : p.spreads)
      if (s.replaces.value == "size" && names(s.moves.value, id)) b.scatter = &s;
    if (run != nullptr) read_run(c, *run, b);
    if (study != nullptr) read_study(c, *study, b);
    out.push_back(std::move(b));
  }
  return out;
}

std::optional<Worth> worth_after(const plan::Plan& p, const plan::Operation* last) {
  if (!p.casting.price.known()) return std::nullopt;
  if (last != nullptr) {
    const PlanCost cost = plan_cost(p, share_without_losses(p));
    if (cost.there && cost.value_at(last->id.value) > 0) return Worth{cost.value_at(last->id.value), true};
  }
  double sum = p.casting.price.si;
  for (const plan::Operation& o : p.operations) {
    if (o.price.known()) sum += o.price.si;
    for (const plan::Machine& m : p.shop.machines) {
      if (m.id.value != o.machine.value || !m.rate.known()) continue;
      double time = 0;
      for (const plan::Cut& k : o.cuts) time += k.time.known() ? k.time.si : 0;
      if (time == 0 && o.time.known()) time = o.time.si;
      sum += time / 3600 * m.rate.si;
    }
    if (&o == last) break;
  }
  return Worth{sum, false};
}

std::optional<double> cost_of_hone(const plan::Plan& p, const plan::Operation& hone) {
  double sum = 0;
  bool known = hone.price.known();
  if (known) sum += hone.price.si;
  const plan::Number& time = hone.time.known() ? hone.time : p.shop.people.hone_time;
  const plan::Number* rate = &p.shop.people.rate;
  for (const plan::Machine& m : p.shop.machines)
    if (m.id.value == hone.machine.value && m.rate.known()) rate = &m.rate;
  if (time.known() && rate->known()) {
    sum += time.si / 3600 * rate->si;
    known = true;
  }
  return known ? std::optional<double>(sum) : std::nullopt;
}

std::string currency_word(const plan::Plan& p) {
  std::vector<const plan::Number*> money = {&p.casting.price, &p.casting.pattern_cost, &p.pallet.cost};
  for (const plan::Operation& o : p.operations) money.push_back(&o.price);
  for (const plan::Number* n : money) {
    if (!n->given()) continue;
    std::string word;
    for (char ch : n->typed)
      if (std::string_view("0123456789.,+- \t").find(ch) == std::string_view::npos) word += ch;
    if (!word.empty()) return word;
  }
  return {};
}

}  // namespace fettle::study
