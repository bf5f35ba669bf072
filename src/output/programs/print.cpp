#include "output/programs/print.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"
#include "base/version.h"
#include "compose/on_paper.h"

namespace fettle::programs {

using compose::Compare;
using compose::Cycle;
using compose::Do;
using compose::Step;
using compose::Steps;

namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double paper_length = 0.15;  // m, of every tool in the examples

std::string filled(std::string pattern, const std::map<std::string, std::string>& values) {
  std::string out;
  for (std::size_t i = 0; i < pattern.size(); ++i) {
    if (pattern[i] != '{') {
      out += pattern[i];
      continue;
    }
    const std::size_t end = pattern.find('}', i);
    if (end == std::string::npos) break;
    const auto it = values.find(pattern.substr(i + 1, end - i - 1));
    if (it != values.end()) out += it->second;
    i = end;
  }
  return out;
}

const char* compare_word(Compare c) {
  switch (c) {
    case Compare::equal:
      return "EQ";
    case Compare::unequal:
      return "NE";
    case Compare::greater:
      return "GT";
    case Compare::at_least:
      return "GE";
    case Compare::less:
      return "LT";
    default:
      return "LE";
  }
}
Compare opposite(Compare c) {
  switch (c) {
    case Compare::equal:
      return Compare::unequal;
    case Compare::unequal:
      return Compare::equal;
    case Compare::greater:
      return Compare::at_most;
    case Compare::at_least:
      return Compare::less;
    case Compare::less:
      return Compare::at_least;
    default:
      return Compare::greater;
  }
}

class Printer {
 public:
  Printer(const compose::Composition& c, const Dialect& d, const PrintOptions& o)
      : c_(c),
        d_(d),
        o_(o),
        unit_(o.inches ? 0.0254 : 0.001),
        decimals_(o.inches ? d.decimals_inch : d.decimals_mm),
        label_(d.first_label) {}

  Outcome<Printed> print() {
    if (c_.zeros > d_.most_zeros)
      return bad(fmt::format("{} nests need a zero each; the dialect {} has {}", c_.zeros, d_.name, d_.most_zeros));
    if (Problems p = number_parameters(); !p.empty()) return p;
    const int number = o_.number > 0 ? o_.number : c_.number;
    emit("program_start",
         {{"number", fmt::format("{}", number)}, {"title", plain_words(fmt::format("{} {}", c_.operation, c_.plan))}});
    header();
    if (d_.subs_first) subs();
    emit(o_.inches ? "units_inch" : "units_mm", {});
    steps(c_.main);
    if (!d_.subs_first) subs();
    emit("file_end", {});
    Printed out;
    out.program = std::move(text_);
    out.offsets = offsets();
    out.restarts = restarts();
    for (const compose::Parameter& p : c_.parameters) out.parameters.emplace_back(p.name, numbers_.at(p.name));
    if (!problems_.empty()) return problems_;
    return out;
  }

 private:
  Problems number_parameters() {
    int kept = d_.first_kept, work = d_.first_work;
    for (const compose::Parameter& p : c_.parameters) numbers_[p.name] = p.kept ? kept++ : work++;
    const char* axes[] = {"probe_x", "probe_y", "probe_z"};
    for (std::size_t i = 0; i < 3; ++i) numbers_[axes[i]] = d_.probe_results[i];
    const bool clash = d_.first_kept > d_.first_work ? work > d_.first_kept : kept > d_.first_work;
    if (clash || std::max(kept, work) > 5000)
      return {bad("more parameters than the dialect has room for; see first_kept and first_work")};
    return {};
  }

  // ---- numbers ----------------------------------------------------------------------------------------------------
  double rounded(double si) const { return std::round(si / unit_ * std::pow(10, decimals_)) / std::pow(10, decimals_); }
  std::string number(double x, int decimals) const {
    std::string s = base::fixed(x, decimals);
    if (s.find('.') != std::string::npos) {
      while (s.back() == '0') s.pop_back();
    }
    if (s == "-0." || s == "0.") return "0.";
    return s;
  }
  std::string length(double si) const { return number(si / unit_, decimals_); }
  std::string feed_text(double si) const { return number(si / unit_ * 60, o_.inches ? 3 : 1); }

  /// The neutral form of a condition or a setting in the control's words.
  std::string text_of(const std::string& neutral) {
    std::string out;
    for (std::size_t i = 0; i < neutral.size(); ++i) {
      const char ch = neutral[i];
      if (ch == '<') {
        const std::size_t end = neutral.find('>', i);
        const std::string name = neutral.substr(i + 1, end - i - 1);
        const auto it = numbers_.find(name);
        if (it == numbers_.end()) {
          problems_.push_back(ours("a parameter of the program has no number: " + name));
          return out;
        }
        out += fmt::format("#{}", it->second);
        i = end;
      } else if (ch == '{') {
        const std::size_t end = neutral.find('}', i);
        const double si = base::to_double(neutral.substr(i + 1, end - i - 1)).value_or(0);
        std::string l = length(si);
        // "+ -3" is written "- 3".
        const bool after_sign =
            out.size() >= 2 && (out[out.size() - 2] == '+' || out[out.size() - 2] == '-') && out.back() == ' ';
        if (l[0] == '-' && after_sign) {
          out[out.size() - 2] = out[out.size() - 2] == '+' ? '-' : '+';
          l = l.substr(1);
        }
        out += l;
        i = end;
      } else {
        out += ch;
      }
    }
    return out;
  }
  std::string condition(const Step& s, bool negated) {
    return fmt::format("[{}] {} [{}]", text_of(s.left), compare_word(negated ? opposite(s.compare) : s.compare),
                       text_of(s.right));
  }

  // ---- lines ------------------------------------------------------------------------------------------------------
  void emit(const std::string& key, const std::map<std::string, std::string>& values) {
    const auto it = d_.lines.find(key);
    if (it == d_.lines.end()) return problems_.push_back(ours("the dialect has no line " + key));
    for (const std::string& l : it->second) {
      std::string line = filled(l, values);
      // A remark without words goes.
      if (const std::size_t e = line.find(" ()"); e != std::string::npos) line.erase(e, 3);
      text_ += line + "\n";
      if (line.size() > 255) problems_.push_back(ours("a line became longer than 255 characters"));
    }
  }
  void remark(const std::string& words) {
    std::string rest = plain_words(words);
    const std::size_t room = static_cast<std::size_t>(d_.longest_line) - 2;
    while (rest.size() > room) {
      std::size_t cut = rest.rfind(' ', room);
      if (cut == std::string::npos || cut == 0) cut = room;
      emit("remark", {{"words", rest.substr(0, cut)}});
      rest = std::string(base::trim(rest.substr(cut)));
    }
    emit("remark", {{"words", rest}});
  }
  std::string short_words(const std::string& words) const {
    std::string s = plain_words(words);
    if (s.size() > 100) s = s.substr(0, 97) + "...";
    return s;
  }

  void header() {
    remark(fmt::format("{} - {}", c_.operation, c_.words));
    remark(fmt::format("plan {} revision {} date {}", c_.plan, c_.revision, c_.date));
    remark(fmt::format("plan hash {}", c_.hash));
    remark(fmt::format("Fettle {} tables {} dialect {}", base::version(), base::tables_version(), d_.name));
    remark(
        "Before the first part: prove out single block, rapid at its lowest, first nest alone - switch of first-piece "
        "mode.");
    remark(
        "Check zeros, tool lengths, clamping and what stands in the way. The shop's and the machine's own rules "
        "decide.");
    const auto& s = c_.set_up;
    remark(fmt::format(
        "Z0: {}. Safe height {}.",
        s.pallet ? (s.floor < 0 ? "top of the plate" : "plane that the part rests on") : "plane that the part rests on",
        with_unit(s.safe)));
    remark(fmt::format("X and Y: {}.", s.pallet ? "zero of the part's drawing in each nest" : "middle of the part"));
    for (const std::string& n : c_.notes) remark("note: " + n);
    for (const std::string& m : c_.missing) remark("NOT MADE: " + m);
    paper_values();
    for (const compose::Visit& v : c_.visits) {
      remark(fmt::format("T{} {} H{}", v.number, v.name, v.number));
      for (const std::string& n : v.notes) remark("  " + n);
    }
  }
  /// Examples of what a person types in and of what a probe finds: for readers, timers and proofs, not for the machine.
  void paper_values() {
    const auto values = compose::paper::typed_in(c_);
    compose::paper::Machine machine(c_, values, {}, paper_length);
    machine.run();
    if (machine.wrong()) problems_.push_back(ours("a condition of the program cannot be read"));
    remark("examples for reading this program on paper, not for the machine:");
    std::string line;
    const auto say_it = [&](const std::string& one) {
      if (line.size() + one.size() > 60 && !line.empty()) {
        remark("on paper " + line);
        line.clear();
      }
      line += (line.empty() ? "" : ", ") + one;
    };
    for (const compose::Parameter& p : c_.parameters) {
      const auto v = values.find(p.name);
      if (!p.kept || v == values.end()) continue;
      say_it(fmt::format("#{} = {}", numbers_[p.name], p.is_length ? length(v->second) : base::fixed(v->second, 0)));
    }
    remark("on paper " + line);
    line.clear();
    std::vector<int> tools;
    for (const compose::Step& t : c_.main)
      if (t.what == Do::tool_change && std::find(tools.begin(), tools.end(), t.tool) == tools.end())
        tools.push_back(t.tool);
    for (const int t : tools) say_it(fmt::format("H{} = {} {}", t, length(paper_length), o_.inches ? "in" : "mm"));
    remark("on paper " + line);
    int n = 0;
    for (const frame::Vec3& t : machine.touched())
      remark(fmt::format("on paper touch {} {} {} {} {}", ++n, length(t.x), length(t.y), length(t.z),
                         o_.inches ? "in" : "mm"));
  }
  std::string with_unit(double si) const { return length(si) + (o_.inches ? " in" : " mm"); }

  void subs() {
    for (const compose::Subprogram& s : c_.subs) {
      emit("sub_start", {{"number", fmt::format("{}", s.number)}, {"words", short_words(s.words)}});
      steps(s.steps);
      emit("sub_end", {{"number", fmt::format("{}", s.number)}});
    }
  }

  struct Open {
    int label = 0, top = 0;
    bool again = false;
  };

  std::string place(const Step& s, bool with_z) {
    std::string out;
    const auto word = [&](char letter, const std::optional<double>& v, const std::string& text) {
      if (!text.empty()) out += fmt::format(" {}[{}]", letter, text_of(text));
      else if (v) out += fmt::format(" {}{}", letter, length(*v));
    };
    word('X', s.x, s.x_text);
    word('Y', s.y, s.y_text);
    if (with_z) word('Z', s.z, s.z_text);
    return out;
  }
  std::string feed(const Step& s) {
    const std::string f = feed_text(s.feed);
    if (f == feed_) return "";
    feed_ = f;
    return " F" + f;
  }

  void steps(const Steps& all) {
    feed_.clear();
    double x = 0, y = 0;  // rounded, in the program's unit
    std::vector<Open> open;
    bool cycle = false;
    for (const Step& s : all) {
      if (cycle && s.what != Do::cycle) {
        emit("cycle_end", {});
        cycle = false;
      }
      switch (s.what) {
        case Do::remark:
          remark(s.words);
          break;
        case Do::rapid:
          emit("rapid", {{"place", place(s, true)}});
          break;
        case Do::line: {
          const std::string p = place(s, true);
          emit("line", {{"place", p}, {"feed", feed(s)}});
          break;
        }
        case Do::arc: {
          const double i = rounded(s.centre.x) - x, j = rounded(s.centre.y) - y;
          const std::string centre = fmt::format(" I{} J{}", number(i, decimals_), number(j, decimals_));
          const std::string p = place(s, true);
          emit(s.clockwise ? "arc_clockwise" : "arc_counter", {{"place", p}, {"centre", centre}, {"feed", feed(s)}});
          break;
        }
        case Do::probe: {
          const std::string p = place(s, true);
          emit("probe", {{"place", p}, {"feed", feed(s)}});
          break;
        }
        case Do::cycle:
          print_cycle(s);
          cycle = true;
          break;
        case Do::dwell:
          emit("dwell", {{"seconds", number(s.seconds, 2)}});
          break;
        case Do::safe_start:
          emit("safe_start", {});
          feed_.clear();
          break;
        case Do::retract:
          emit("retract", {});
          break;
        case Do::tool_change:
          emit("tool_change", {{"tool", fmt::format("{}", s.tool)}, {"words", short_words(s.words)}});
          feed_.clear();
          break;
        case Do::length_on:
          emit("length_on", {{"tool", fmt::format("{}", s.tool)}, {"z", length(*s.z)}});
          break;
        case Do::spindle:
          if (s.speed > 0) emit("spindle_on", {{"speed", base::fixed(s.speed * 60 / (2 * pi), 0)}});
          else emit("spindle_off", {});
          break;
        case Do::coolant:
          emit(s.count > 0 ? "coolant_on" : "coolant_off", {});
          break;
        case Do::zero:
          emit("zero",
               {{"n", fmt::format("{}", s.nest)}, {"zero", zero_word(s.nest)}, {"words", short_words(s.words)}});
          break;
        case Do::write_zero:
          emit("write_zero", {{"n", fmt::format("{}", s.nest)},
                              {"x", text_of(s.x_text)},
                              {"y", text_of(s.y_text)},
                              {"z", text_of(s.z_text)},
                              {"words", short_words(s.words)}});
          break;
        case Do::set:
          emit("set", {{"parameter", fmt::format("{}", number_of(s.name))}, {"value", value_text(s.left)}});
          break;
        case Do::when:
        case Do::again:
          begin(s, open);
          break;
        case Do::end_when:
        case Do::end_again:
          end(open);
          break;
        case Do::stop:
          emit("stop", {{"words", short_words(text_of(s.words))}});
          break;
        case Do::optional_stop:
          emit("optional_stop", {{"words", short_words(text_of(s.words))}});
          break;
        case Do::call:
          emit("call", {{"number", fmt::format("{}", s.sub)}});
          feed_.clear();
          break;
        case Do::skip_to:
          emit("label", {{"label", fmt::format("{}", s.label)}});
          break;
        case Do::end:
          emit("program_end", {});
          break;
      }
      if (s.x) x = rounded(*s.x);
      if (s.y) y = rounded(*s.y);
    }
    if (cycle) emit("cycle_end", {});
    feed_.clear();
  }
  int number_of(const std::string& name) {
    const auto it = numbers_.find(name);
    if (it != numbers_.end()) return it->second;
    problems_.push_back(ours("a parameter of the program has no number: " + name));
    return 0;
  }
  std::string value_text(const std::string& neutral) {
    const std::string t = text_of(neutral);
    const bool bare = t.find_first_not_of("0123456789.#") == std::string::npos;
    return bare ? t : "[" + t + "]";
  }
  std::string zero_word(int n) const {
    const std::size_t i = static_cast<std::size_t>(n - 1);
    return i < d_.zeros.size() ? d_.zeros[i] : "";
  }

  void begin(const Step& s, std::vector<Open>& open) {
    Open o;
    o.again = s.what == Do::again;
    o.label = label_++;
    if (d_.jumps) {
      if (o.again) {
        o.top = label_++;
        emit("label", {{"label", fmt::format("{}", o.top)}});
      }
      emit("jump_if", {{"condition", condition(s, true)}, {"label", fmt::format("{}", o.label)}});
    } else {
      emit(o.again ? "again_begin" : "when_begin",
           {{"condition", condition(s, false)}, {"label", fmt::format("{}", o.label)}});
    }
    open.push_back(o);
  }
  void end(std::vector<Open>& open) {
    if (open.empty()) return problems_.push_back(ours("a condition ends that never began"));
    const Open o = open.back();
    open.pop_back();
    const std::string label = fmt::format("{}", o.label);
    if (d_.jumps) {
      if (o.again) emit("jump", {{"label", fmt::format("{}", o.top)}});
      emit("label", {{"label", label}});
    } else {
      emit(o.again ? "again_end" : "when_end", {{"label", label}});
    }
    feed_.clear();
  }

  void print_cycle(const Step& s) {
    std::map<std::string, std::string> v = {{"place", place(s, false)},
                                            {"z", length(*s.z)},
                                            {"r", length(s.clear)},
                                            {"q", length(s.peck)},
                                            {"speed", base::fixed(s.speed * 60 / (2 * pi), 0)}};
    // A tap's feed is its pitch times the speed as printed: whole turns.
    double f = s.feed;
    if (s.cycle == Cycle::tap) {
      f = s.peck * std::round(s.speed * 60 / (2 * pi)) / 60;
      v["feed"] = " F" + number(f / unit_ * 60, o_.inches ? 4 : 3);
      feed_.clear();
    } else {
      v["feed"] = feed(s);
    }
    const char* key = s.cycle == Cycle::peck               ? "peck"
                      : s.cycle == Cycle::tap              ? "tap"
                      : s.cycle == Cycle::bore_out_at_feed ? "bore_out_at_feed"
                      : s.cycle == Cycle::bore_stop_out    ? "bore_stop_out"
                                                           : "drill";
    emit(key, v);
  }

  // ---- sheets -----------------------------------------------------------------------------------------------------
  std::string heading(const std::string& what) const {
    return fmt::format("{}\n{} - {}\nplan {} revision {} date {}\nplan hash {}\nFettle {}, tables {}, dialect {}\n\n",
                       what, c_.operation, c_.words, c_.plan, c_.revision, c_.date, c_.hash, base::version(),
                       base::tables_version(), d_.name);
  }
  std::string offsets() {
    std::string t = heading("OFFSETS AND SWITCHES");
    t += "Safety: numbers typed wrongly here send the tool into the plate. A second person reads them back. Prove out "
         "single\n"
         "block, rapid at its lowest, nest 1 alone. The shop's and the machine's own rules decide.\n\n";
    t += "Numbers that a person keeps in the control (they stay when it is switched off)\n";
    for (const compose::Parameter& p : c_.parameters) {
      if (!p.kept) continue;
      t += fmt::format("  #{:<5} {:<14} {}\n", numbers_[p.name],
                       p.start ? (p.is_length ? with_unit(*p.start) : base::fixed(*p.start, 0)) : "________", p.words);
    }
    t += "\nZeros (the program writes them from the places above)\n";
    for (std::size_t i = 0; i < c_.set_up.nests.size(); ++i) {
      const auto& n = c_.set_up.nests[i];
      const std::string z = d_.zeros.empty() ? fmt::format("zero {}", i + 1) : zero_word(static_cast<int>(i) + 1);
      t += fmt::format("  {:<8} {:<18} X {:>10} Y {:>10} from the middle{}\n", z, n.words, length(n.at.x),
                       length(n.at.y),
                       n.turn != 0 ? fmt::format(", turned {} deg", base::fixed(n.turn * 180 / pi, 3)) : "");
    }
    t += "\nTools\n";
    for (const compose::Visit& v : c_.visits)
      t += fmt::format("  T{:<4} H{:<4} {:<32} {:>5} rpm  deepest Z {}\n", v.number, v.number, plain_words(v.name),
                       base::fixed(v.speed * 60 / (2 * pi), 0), length(v.lowest));
    return t;
  }
  std::string restarts() {
    std::string t = heading("RESTART TABLE");
    t += fmt::format(
        "To go on after a stop: the block begun last stands in #{0}. Type that number, or a later one from this table, "
        "into\n"
        "#{1} and start the program from its top: it makes a full safe start, changes the tool and goes on there. A "
        "number\n"
        "of 0 begins anew. After a good end both are 0 again.\n\n",
        numbers_["at"], numbers_["restart"]);
    t += "Safety: before going on see that the tool is whole, nothing is stuck in a part, and chips are off the heads "
         "and seats.\n"
         "After a power cut: the part of the block begun last is suspect. After a broken tool: all parts named behind "
         "the block.\n\n";
    t += "  block  tool                               nest                suspect parts when the tool is found broken "
         "here\n";
    for (const compose::RestartRow& r : c_.restarts)
      t += fmt::format("  {:<6} {:<34} {:<19} {}\n", r.block, plain_words(r.tool), r.nest, r.suspects);
    return t;
  }

  const compose::Composition& c_;
  const Dialect& d_;
  const PrintOptions& o_;
  double unit_;
  int decimals_;
  std::string text_, feed_;
  std::map<std::string, int> numbers_;
  int label_;
  Problems problems_;
};

}  // namespace

std::string plain_words(std::string_view text) {
  static const std::pair<std::string_view, std::string_view> swaps[] = {
      {"±", "+-"}, {"Ø", "dia "}, {"µ", "u"}, {"·", "."},   {"°", " deg"},
      {"–", "-"},  {"—", "-"},    {"×", "x"}, {"…", "..."}, {"→", "to"}};
  std::string out;
  for (std::size_t i = 0; i < text.size();) {
    bool done = false;
    for (const auto& [from, to] : swaps)
      if (text.substr(i, from.size()) == from) {
        out += to;
        i += from.size();
        done = true;
        break;
      }
    if (done) continue;
    const unsigned char ch = static_cast<unsigned char>(text[i]);
    if (ch == '(' || ch == '[') out += "- ";
    else if (ch == ')' || ch == ']') out += " -";
    else if (ch == ';' || ch == '%') out += ch == ';' ? "," : " percent";
    else if (ch >= 32 && ch < 127) out += static_cast<char>(ch);
    else if (ch < 128 || ch >= 192) out += ch < 128 ? ' ' : '?';
    ++i;
  }
  return out;
}

Outcome<Printed> print(const compose::Composition& c, const Dialect& d, const PrintOptions& o) {
  return Printer(c, d, o).print();
}

}  // namespace fettle::programs
