#include "app/serve/folder.h"

#include <algorithm>
#include <filesystem>

#include "base/text.h"
#include "plan/read.h"

namespace fettle::serve {

namespace fs = std::filesystem;

Folder::Folder(const std::string& root) {
  std::error_code error;
  const fs::path p = fs::canonical(root.empty() ? "." : root, error);
  root_ = error ? std::string() : p.string();
}

bool Folder::holds(const std::string& path) const {
  std::error_code error;
  const std::string real = fs::weakly_canonical(path, error).string();
  if (error || root_.empty()) return false;
  return root_ == "/" || base::starts_with(real, root_ + "/");
}

Outcome<std::string> Folder::file(const std::string& path, bool must_be_there) const {
  const Problem out = bad("no file of the served folder", path, "a path below it, such as plan.toml");
  if (path.empty() || path.size() > 500 || path.front() == '/' || !base::valid_utf8(path)) return out;
  for (const char c : path)
    if (static_cast<unsigned char>(c) < 0x20 || c == '\\' || c == 0x7f) return out;
  for (const std::string& part : base::split(path, '/'))
    if (part.empty() || part.front() == '.') return out;
  const std::string full = (fs::path(root_) / path).string();
  if (!holds(full)) return out;
  std::error_code error;
  if (must_be_there && !fs::is_regular_file(full, error))
    return bad("there is no such file", path, "a plan that is there");
  return full;
}

std::vector<std::string> Folder::files(const std::vector<std::string>& endings, std::size_t most) const {
  std::vector<std::string> out;
  std::error_code error;
  auto it = fs::recursive_directory_iterator(root_, fs::directory_options::skip_permission_denied, error);
  for (; !error && it != fs::recursive_directory_iterator() && out.size() < most; it.increment(error)) {
    const std::string name = it->path().filename().string();
    std::error_code e;
    if (it->is_directory(e) && (it.depth() >= 3 || name.front() == '.' || name == "node_modules"))
      it.disable_recursion_pending();
    if (name.front() == '.' || !it->is_regular_file(e) || !holds(it->path().string())) continue;
    const std::string ending = base::lower(it->path().extension().string());
    if (std::find(endings.begin(), endings.end(), ending) != endings.end())
      out.push_back(it->path().lexically_relative(root_).generic_string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

Outcome<plan::Plan> read_within(const Folder& folder, const std::string& path, const std::string& text) {
  const Problem leads_out =
      bad("a file that the plan names lies outside the served folder", path, "serve the folder that holds both");
  auto p = plan::read_plan(text, path, [&](const std::string& named) -> Outcome<std::string> {
    if (!folder.holds(named)) return leads_out;
    return base::read_file(named, std::size_t{4} << 20U);
  });
  if (!p.ok()) return p;
  std::vector<const plan::Text*> names = {&p->casting.measured.table, &p->casting.measured.faces,
                                          &p->casting.measured.scan, &p->part.model, &p->casting.model};
  for (const plan::Reading& r : p->readings) names.push_back(&r.file);
  for (const plan::Operation& o : p->operations) names.push_back(&o.program);
  const fs::path beside = fs::path(path).parent_path();
  for (const plan::Text* t : names) {
    if (!t->given() || folder.holds((beside / t->value).string())) continue;
    Problem out = leads_out;
    out.found = t->value;
    out.where = {path, t->place.line, t->place.column};
    return out;
  }
  return p;
}

}  // namespace fettle::serve
