// The box that takes a question in the shop's words and finds the calculator, the finding or the page that answers it.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "app/cli/all_reckoners.h"
#include "app/serve/routes.h"
#include "base/text.h"
#include "finding/reckoner.h"

namespace fettle::serve {

using nlohmann::json;
using Words = std::set<std::string>;

namespace {

constexpr std::size_t most_hits = 12, most_alike = 2;

Words words_of(const std::string& text) {
  Words out;
  std::string word;
  const auto digits = [](const std::string& s) { return s.find_first_not_of("0123456789") == std::string::npos; };
  std::string plain = base::lower(text) + " ";
  // an end mill is no end of a part
  for (std::size_t at = 0; (at = plain.find("end mill", at)) != std::string::npos;) plain.replace(at, 8, "mill");
  for (const char c : plain) {
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || (static_cast<unsigned char>(c) & 0x80U) != 0) {
      word += c;
      continue;
    }
    if (word.size() > 4 && word.back() == 's') word.pop_back();
    if ((word.size() > 2 || word == "hb") && !digits(word)) out.insert(word);
    word.clear();
  }
  for (const char* little :
       {"the",  "and",  "for", "how",  "what", "doe",   "does", "with", "will", "can",  "are", "that",
        "this", "from", "not", "only", "when", "which", "way",  "new",  "part", "much", "many"})
    out.erase(little);
  return out;
}

/// 1 for the word itself, a half for a common beginning of four letters.
double met(const std::string& word, const Words& in) {
  if (in.count(word) > 0) return 1;
  if (word.size() < 4) return 0;
  const auto it = in.lower_bound(word.substr(0, 4));
  return it != in.end() && it->compare(0, 4, word, 0, 4) == 0 ? 0.5 : 0;
}

/// Words of the shop that a formula's own text does not hold, and what they ask for: reckoners and questions of
/// findings. Common practice in talk; only the order of the answers hangs on it.
struct Talk {
  const char *said, *meant;
};
constexpr Talk talk[] = {
    {"tight tighten wrench", "screw_torque preload screw_stress"},
    {"wide thick tape", "run_casting measured clean_up"},
    {"step", "push-off chip_under play_of_pins"},
    {"warm ring thermometer", "at_20 warm"},
    {"hone", "hone_off hone_list bore_aim"},
    {"offset adjust tenth leave", "on_aim trend run_of_readings tool_reset"},
    {"trend drift touch", "trend tool_reset run_of_readings"},
    {"squeal sing whistle rpm", "chatter_speeds chatter_depth chatter"},
    {"mill cutter smaller", "reach tool_bend chatter_depth cut_minutes"},
    {"tap broke", "tap_torque tap"},
    {"stuck off pry", "lift_off comes_off"},
    {"morning cold jam", "pin_goes_on goes_on"},
    {"alone heavy back", "lift"},
    {"pool pooled puddle", "puddle coolant_stays"},
    {"slope trough", "trough trough_holds"},
    {"edge insert", "parts_per_edge edges_last"},
    {"helper keep load away", "hands_keep_up cycle_two_sets interference"},
    {"hardness hard hb lot", "change_voids cut_force holds"},
    {"swap base", "pallet_swap swap"},
    {"floor", "zero chip_under plate_bow swap"},
    {"grinder grind ground", "height allowance_left flat_off_chuck"},
    {"ship friday week deliver", "good_parts hours castings_to_order machine_hours"},
    {"plate thinner thickness", "thinner_plate plate_modes give"},
    {"night nobody", "unattended"},
    {"print sheet paper", "papers floor"},
    {"changed yesterday who", "changed"},
    {"skip nest", "floor"},
};
/// Pages that answer by themselves.
constexpr Talk pages[] = {{"papers", "the papers of this plan, as PDF"},
                          {"floor", "the floor: load sheet, torque, zeros, what to measure, skip a nest"},
                          {"changed", "the floor: what changed since last time, and why"}};

struct Text {
  json said;
  std::string key;  ///< name of the reckoner, question of the finding
  std::vector<std::pair<double, Words>> fields;
  double hint = 0;
};

std::vector<Text> texts_of_reckoners() {
  std::vector<Text> out;
  for (const finding::Reckoner& r : cli::all_reckoners()) {
    std::string inputs, outputs;
    for (const auto& i : r.inputs) inputs += " " + i.name + " " + i.help;
    for (const auto& o : r.outputs) outputs += " " + o.name + " " + o.help;
    out.push_back({{{"kind", "reckoner"}, {"name", r.name}, {"title", r.question}, {"why", r.formula}},
                   r.name,
                   {{3, words_of(r.name + " " + r.question)}, {1, words_of(outputs)}, {0.5, words_of(inputs)}},
                   0});
  }
  return out;
}

std::vector<Text> texts_of_plan(const study::Study& s) {
  std::vector<Text> out;
  for (const finding::Finding& f : s.findings)
    out.push_back({{{"kind", "finding"},
                    {"id", f.id},
                    {"title", f.title},
                    {"why", f.sentence},
                    {"state", finding::word(f.state)}},
                   f.question,
                   {{3, words_of(f.title + " " + f.operation + " " + f.tool + " " + f.feature)},
                    {1, words_of(f.sentence + " " + f.question)}},
                   0});
  for (const Talk& p : pages)
    out.push_back({{{"kind", "page"}, {"name", p.said}, {"title", p.meant}, {"why", ""}}, p.said, {}, 0});
  return out;
}

void add_hints(const Words& asked, std::vector<Text>& all) {
  for (const Talk& t : talk) {
    double n = 0;
    const Words said = words_of(t.said);
    for (const std::string& w : asked) n += met(w, said) == 1 ? 1 : 0;
    if (n == 0) continue;
    const auto meant = base::split(t.meant, ' ');
    for (Text& x : all) {
      const auto it = std::find(meant.begin(), meant.end(), x.key);
      if (it != meant.end()) x.hint += 6 * n / (1.0 + 0.25 * static_cast<double>(it - meant.begin()));
    }
  }
}

/// Words that few texts hold say more about what is meant than words that all of them hold.
std::vector<std::pair<double, const Text*>> ranked(const Words& asked, const std::vector<Text>& all) {
  std::vector<std::pair<double, const Text*>> out;
  out.reserve(all.size());
  for (const Text& x : all) out.emplace_back(x.hint, &x);
  for (const std::string& w : asked) {
    std::vector<double> here;
    int in = 0;
    for (const Text& x : all) {
      double most = 0;
      for (const auto& [weight, words] : x.fields) most = std::max(most, weight * met(w, words));
      in += most > 0 ? 1 : 0;
      here.push_back(most);
    }
    const double rare = std::log(1 + static_cast<double>(all.size()) / (1.0 + in)) / std::log(10.0);
    for (std::size_t i = 0; i < all.size(); ++i) out[i].first += rare * here[i];
  }
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  return out;
}

}  // namespace

Reply ask(const Call& c) {
  const Words asked = words_of(c.asked["words"].substr(0, 300));
  std::vector<Text> all = texts_of_reckoners();
  if (!c.asked["path"].empty()) {
    const auto o = c.desk.open(c.asked["path"]);
    const auto s =
        o.ok() ? c.desk.quick(**o, Desk::now(**o).first) : Outcome<std::shared_ptr<const Studied>>(o.problems());
    if (!s.ok()) return refused(s.problems(), c.root());
    auto more = texts_of_plan((*s)->study);
    std::move(more.begin(), more.end(), std::back_inserter(all));
  }
  add_hints(asked, all);
  json out = json::array();
  std::vector<json> second;
  std::map<std::string, std::size_t> alike;
  for (const auto& [score, x] : ranked(asked, all)) {
    if (out.size() == most_hits || !(score > 1)) break;
    const std::size_t n = ++alike[x->said["kind"].get<std::string>() + x->key];
    if (n > most_alike) continue;
    if (n > 1) {  // the second of a kind stands behind the next other answer
      second.push_back(x->said);
      continue;
    }
    out.push_back(x->said);
    for (json& s : second) out.push_back(std::move(s));
    second.clear();
  }
  for (json& s : second) out.push_back(std::move(s));
  while (out.size() > most_hits) out.erase(out.size() - 1);
  return json_reply({{"hits", out}});
}

}  // namespace fettle::serve
