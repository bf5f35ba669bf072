// From a dropped model to plans: files kept, questions asked, plans proposed as a job, one of them taken.
#include <filesystem>
#include <set>

#include "app/serve/drops.h"
#include "app/serve/propose_child.h"
#include "app/serve/routes.h"
#include "base/text.h"
#include "begin/propose/questions.h"
#include "plan/edit.h"

namespace fettle::serve {

using nlohmann::json;
namespace fs = std::filesystem;

namespace {

/// A name that does no harm: letters, digits, dot, dash and underscore, no dot in front.
std::string plain_name(const std::string& name, const std::string& otherwise) {
  std::string out;
  for (const char c : name.substr(name.find_last_of("/\\") + 1).substr(0, 80)) {
    const bool plain =
        (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
    out += plain || (c == '.' && !out.empty()) ? c : '-';
  }
  return out.find_first_not_of("-.") == std::string::npos ? otherwise : out;
}

/// The first name that is free: "wvb3", "wvb3-2" ...
Outcome<std::string> free_name(const Folder& folder, const std::string& before, const std::string& after) {
  for (int n = 1; n < 1000; ++n) {
    std::string name = before;
    if (n > 1) name += "-" + std::to_string(n);
    name += after;
    const auto full = folder.file(name, false);
    if (!full.ok()) return full.problems();
    std::error_code error;
    if (!fs::exists(*full, error)) return name;
  }
  return bad("too many of that name are there", before + after, "another name");
}

/// Everything that was dropped, in the new folder.
Outcome<bool> keep(const Folder& folder, const std::string& into, const std::vector<DroppedFile>& files) {
  for (const DroppedFile& f : files) {
    if (f.name.empty() || f.name.find('/') != std::string::npos) continue;
    const auto full = folder.file(into + "/" + f.name, false);
    if (!full.ok()) return full.problems();
    std::error_code error;
    fs::create_directories(fs::path(*full).parent_path(), error);
    const auto done = base::write_file(*full, f.bytes);
    if (!done.ok()) return done.problems();
  }
  return true;
}

/// Reads the models; the files are kept only when that worked.
Outcome<std::shared_ptr<Dropped>> take_drop(const Call& c) {
  const Folder& folder = c.desk.folder();
  DroppedFiles f;
  f.part = file_of(c.asked, "part", "part.step"), f.cast = file_of(c.asked, "cast", "casting.step");
  f.table = file_of(c.asked, "table", "castings.csv"), f.tools = file_of(c.asked, "tools", "tools.csv");
  f.holders = file_of(c.asked, "holders", "holders.csv"), f.times = file_of(c.asked, "times", "times.csv");
  if (f.part.bytes.empty()) return bad("no model of the finished part", "", "`part`: a STEP file");
  std::set<std::string> names;
  for (const DroppedFile* one : {&f.part, &f.cast, &f.table, &f.tools, &f.holders, &f.times})
    if (!one->bytes.empty() && !names.insert(one->name).second)
      return bad("two files of one name", one->name, "another name for one of them");
  const auto wish = c.asked.files.find("into");
  f.stem = fs::path(f.part.name).stem().string();
  const auto into =
      free_name(folder, plain_name(wish == c.asked.files.end() ? f.stem : wish->second.second, f.stem), "");
  if (!into.ok()) return into.problems();
  auto shop = shop_file(c, *into);
  if (!shop.ok()) return shop.problems();
  f.shop = std::move(shop.value());
  auto read = read_drop(f);
  if (!read.ok()) return read.problems();
  const auto kept = keep(folder, *into, {f.part, f.cast, f.table, f.tools, f.holders, f.times, read->shop});
  if (!kept.ok()) return kept.problems();
  auto d = std::make_shared<Dropped>();
  d->id = random_name(), d->folder = *into, d->files = std::move(f);
  d->picks = picks_json(*read);
  d->begun = std::move(read.value().begun), d->questions = std::move(read.value().questions);
  return d;
}

Reply no_drop() { return refused("nothing is known of that part any more: drop it again", 404); }

/// The answers as the file that a person would write.
std::string answers_text(const json& answers) {
  std::string asked, taken = "[take]\n";
  for (const auto& [id, value] : answers.items()) {
    const std::string said = plan::toml_quoted(value.is_string() ? value.get<std::string>() : dump(value));
    if (base::starts_with(id, "take.")) taken += plan::toml_quoted(id.substr(5)) + " = " + said + "\n";
    else asked += plan::toml_quoted(id) + " = " + said + "\n";
  }
  return asked + taken;
}

}  // namespace

DroppedFile file_of(const Asked& asked, const std::string& field, const std::string& otherwise) {
  const auto it = asked.files.find(field);
  if (it == asked.files.end() || it->second.second.empty()) return {};
  return {plain_name(it->second.first, otherwise), it->second.second};
}

Outcome<DroppedFile> shop_file(const Call& c, const std::string& folder) {
  const auto it = c.asked.files.find("shop");
  if (it == c.asked.files.end() || it->second.second.empty())
    return bad("no shop file", "", "`shop`: a file, or the path of one in the served folder");
  if (!it->second.first.empty()) return DroppedFile{plain_name(it->second.first, "shop.toml"), it->second.second};
  const auto full = c.desk.folder().file(it->second.second);
  if (!full.ok()) return full.problems();
  const auto text = base::read_file(*full, std::size_t{4} << 20U);
  if (!text.ok()) return text.problems();
  return DroppedFile{fs::path(it->second.second).lexically_relative(folder).generic_string(), *text};
}

void Drops::add(const std::shared_ptr<Dropped>& d) {
  const std::lock_guard<std::mutex> hold(lock_);
  all_.push_back(d);
  if (all_.size() > 8) all_.pop_front();
}
std::shared_ptr<Dropped> Drops::find(const std::string& id) const {
  const std::lock_guard<std::mutex> hold(lock_);
  for (const auto& d : all_) {
    const std::lock_guard<std::mutex> inner(d->lock);
    if (d->id == id || (d->run != nullptr && d->run->id() == id)) return d;
  }
  return nullptr;
}

Reply begin_drop(const Call& c) {
  const auto d = take_drop(c);
  if (!d.ok()) return refused(d.problems(), c.root());
  c.desk.drops().add(*d);
  json out = (*d)->picks;
  out.update({{"job", (*d)->id}, {"into", (*d)->folder}, {"read", {{"words", (*d)->begun.said}}}});
  return json_reply(out);
}

Reply begin_answers(const Call& c) {
  const auto d = c.desk.drops().find(text_in(c.body, "job"));
  if (d == nullptr) return no_drop();
  const json answers = c.body.value("answers", json::object());
  if (!answers.is_object() || answers.size() > 100) return refused("answers are no object of at most 100 texts", 400);
  const auto read = begin::read_answers(answers_text(answers), "answers", d->questions, d->begun.plan);
  if (!read.ok()) return refused(read.problems(), c.root());
  int run = 0;
  {
    const std::lock_guard<std::mutex> hold(d->lock);
    run = ++d->runs;
  }
  const auto job = c.desk.jobs().start(
      "begin " + d->id + " " + std::to_string(run),
      [&desk = c.desk, d, answers = read.value()](Job& j) { return propose_in_child(desk, *d, answers, j); });
  if (job == nullptr) return refused("too much work waits already; ask again in a while", 503);
  const std::lock_guard<std::mutex> hold(d->lock);
  d->run = job;
  return json_reply({{"job", job->id()}});
}

Reply begin_next(const Call& c) {
  std::shared_ptr<Job> job = c.desk.jobs().find(c.asked["job"]);
  if (job == nullptr) {
    const auto d = c.desk.drops().find(c.asked["job"]);
    if (d == nullptr) return no_drop();
    const std::lock_guard<std::mutex> hold(d->lock);
    job = d->run;
  }
  if (job == nullptr) return refused("no answers were given yet", 400);
  const double after = base::to_double(c.asked["after"]).value_or(-1);
  json at = job->wait(after >= 0 && after < 1e9 ? static_cast<int>(after) : -1, c.longest);
  if (at["done"].get<bool>()) at.update(json::parse(job->result().body));
  return json_reply(at);
}

Reply begin_take(const Call& c) {
  const auto d = c.desk.drops().find(text_in(c.body, "job"));
  if (d == nullptr) return no_drop();
  std::shared_ptr<const std::vector<std::string>> found;
  {
    const std::lock_guard<std::mutex> hold(d->lock);
    found = d->found;
  }
  const auto n = c.body.find("n");
  const int wanted = n != c.body.end() && n->is_number_integer() ? n->get<int>() : 0;
  if (found == nullptr || wanted < 1 || static_cast<std::size_t>(wanted) > found->size())
    return refused("there is no such proposal", 404);
  const fs::path name = plain_name(text_in(c.body, "into"), "plan.toml");  // the plan names its files from this folder
  const auto path = free_name(c.desk.folder(), d->folder + "/" + name.stem().string(), ".toml");
  if (!path.ok()) return refused(path.problems(), c.root());
  const auto full = c.desk.folder().file(*path, false);
  if (!full.ok()) return refused(full.problems(), c.root());
  const std::string& text = (*found)[static_cast<std::size_t>(wanted - 1)];
  const auto done = base::write_file(*full, text);
  if (!done.ok()) return refused(done.problems(), c.root());
  return json_reply({{"path", *path}, {"hash", base::hash_hex(text)}});
}

}  // namespace fettle::serve
