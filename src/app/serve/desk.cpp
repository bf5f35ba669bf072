#include "app/serve/desk.h"

#include <filesystem>

#include "base/text.h"
#include "plan/read.h"

namespace fettle::serve {

namespace {

constexpr std::size_t most_text = std::size_t{2} << 20U;
constexpr std::size_t most_open = 200, most_texts = 400, most_studied = 6;

/// When it was written, and how large it is.
std::string version_of(const std::filesystem::path& file) {
  std::error_code error;
  const auto when = std::filesystem::last_write_time(file, error).time_since_epoch().count();
  return " " + std::to_string(when) + " " + std::to_string(std::filesystem::file_size(file, error));
}

}  // namespace

std::string stamp_of(const plan::Plan& p) {
  std::string stamp;
  for (std::size_t i = 1; i < p.files.size(); ++i) stamp += "\n" + p.files[i].path + version_of(p.files[i].path);
  return stamp;
}

std::string key_of_data(const plan::Plan& p, const std::string& full) {
  std::string key = p.casting.points.value;
  std::vector<const plan::Text*> names = {&p.casting.measured.table, &p.casting.measured.faces,
                                          &p.casting.measured.scan, &p.part.model, &p.casting.model};
  for (const plan::Reading& r : p.readings) names.push_back(&r.file);
  for (const plan::Operation& o : p.operations) names.push_back(&o.program);
  for (const plan::Text* t : names) {
    if (!t->given()) continue;
    key += "\n" + t->value + version_of(std::filesystem::path(full).parent_path() / t->value);
  }
  return key;
}

Desk::Desk(const std::string& root, int threads) : folder_(root), threads_(threads), jobs_(2, 32) {}

void Desk::remember(Open& o) {
  if (o.texts.emplace(o.hash, o.text).second) o.seen.push_back(o.hash);
  while (o.seen.size() > most_texts) {
    o.texts.erase(o.seen.front());
    o.seen.erase(o.seen.begin());
  }
}

void Desk::look_at_disk(Open& o) {
  const auto text = base::read_file(o.full, most_text);
  if (!text.ok() || *text == o.text) return;
  if (!o.hash.empty()) o.undo.push_back(o.text), o.redo.clear();
  o.text = *text, o.hash = base::hash_hex(*text), o.by = "disk";
  remember(o);
}

Outcome<std::shared_ptr<Open>> Desk::open(const std::string& path) {
  const auto full = folder_.file(path);
  if (!full.ok()) return full.problems();
  if (std::filesystem::path(path).extension() != ".toml") return bad("a plan ends in .toml", path, "a plan");
  std::shared_ptr<Open> o;
  {
    const std::lock_guard<std::mutex> hold(lock_);
    if (open_.size() >= most_open && open_.count(path) == 0)
      return bad("too many plans are open", path, "fewer of them");
    auto& place = open_[path];
    if (place == nullptr) place = std::make_shared<Open>(), place->path = path, place->full = *full;
    o = place;
  }
  const std::lock_guard<std::mutex> hold(o->lock);
  const auto text = base::read_file(o->full, most_text);
  if (!text.ok()) return text.problems();
  look_at_disk(*o);
  return o;
}

std::pair<std::string, std::string> Desk::now(Open& o) {
  const std::lock_guard<std::mutex> hold(o.lock);
  look_at_disk(o);
  return {o.text, o.hash};
}

std::string Desk::text_of(Open& o, const std::string& hash) {
  const std::lock_guard<std::mutex> hold(o.lock);
  const auto it = o.texts.find(hash);
  return it == o.texts.end() ? std::string() : it->second;
}

Outcome<std::shared_ptr<const Studied>> Desk::quick(Open& o, const std::string& text) {
  const std::string hash = base::hash_hex(text);
  const Jobs::Ahead ahead(jobs_);
  const std::lock_guard<std::mutex> one(o.study_lock);
  if (const auto it = o.studied.find(hash); it != o.studied.end()) {
    const Studied& kept = *it->second;
    if (kept.stamp == stamp_of(kept.plan) && o.data_key == key_of_data(kept.plan, o.full)) return it->second;
  }
  auto p = read_within(folder_, o.full, text);
  if (!p.ok()) return p.problems();
  const std::string stamp = stamp_of(*p), key = key_of_data(*p, o.full);
  if (o.data == nullptr || key != o.data_key)
    o.data = std::make_shared<const study::Data>(study::load_data(*p)), o.data_key = key, o.studied.clear();
  study::Options options;
  options.monte_carlo = false;
  options.threads = threads_;
  auto s = study::run(*p, *o.data, options, *o.memo);
  if (!s.ok()) return s.problems();
  auto out = std::make_shared<const Studied>(Studied{hash, stamp, std::move(p.value()), *o.data, std::move(s.value())});
  // What is on disk is asked again and again: it outlives the trials.
  if (o.studied.size() >= most_studied) {
    const std::lock_guard<std::mutex> hold(o.lock);
    std::erase_if(o.studied, [&](const auto& x) { return x.first != o.hash; });
  }
  o.studied[hash] = out;
  return out;
}

Outcome<bool> Desk::write(Open& o, const std::string& text, const std::string& expected, const std::string& who) {
  const std::lock_guard<std::mutex> hold(o.lock);
  look_at_disk(o);
  if (o.hash != expected) return false;
  const auto done = base::write_file(o.full, text);
  if (!done.ok()) return done.problems();
  o.undo.push_back(o.text);
  o.redo.clear();
  o.text = text, o.hash = base::hash_hex(text), o.by = who;
  remember(o);
  return true;
}

Outcome<bool> Desk::step(Open& o, bool back, const std::string& expected, const std::string& who) {
  const std::lock_guard<std::mutex> hold(o.lock);
  look_at_disk(o);
  auto& from = back ? o.undo : o.redo;
  if (o.hash != expected) return false;
  if (from.empty()) return bad(back ? "there is nothing to undo" : "there is nothing to do again", o.path, "a change");
  const auto done = base::write_file(o.full, from.back());
  if (!done.ok()) return done.problems();
  (back ? o.redo : o.undo).push_back(o.text);
  o.text = from.back(), o.hash = base::hash_hex(o.text), o.by = who;
  from.pop_back();
  remember(o);
  return true;
}

std::vector<std::string> keys_between(const Folder& folder, const std::string& full, const std::string& a,
                                      const std::string& b, bool& readable) {
  const auto pa = read_within(folder, full, a), pb = read_within(folder, full, b);
  readable = pa.ok() && pb.ok();
  if (!readable) return {};
  std::map<std::string, std::string> old;
  for (const plan::Leaf& l : plan::leaves(*pa)) old[l.key] = l.typed;
  std::vector<std::string> out;
  for (const plan::Leaf& l : plan::leaves(*pb)) {
    const auto it = old.find(l.key);
    if (it == old.end() || it->second != l.typed) out.push_back(l.key);
    if (it != old.end()) old.erase(it);
  }
  for (const auto& [key, typed] : old) out.push_back(key);
  return out;
}

}  // namespace fettle::serve
