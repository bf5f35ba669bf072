#include "app/serve/page.h"

#include <filesystem>

#include "base/text.h"

namespace fettle::serve {

namespace {

constexpr std::size_t most = std::size_t{20} << 20U;

std::string type_of(const std::string& path) {
  static const std::map<std::string, std::string> types = {{".html", "text/html; charset=utf-8"},
                                                           {".js", "text/javascript; charset=utf-8"},
                                                           {".css", "text/css; charset=utf-8"},
                                                           {".svg", "image/svg+xml"},
                                                           {".json", "application/json"},
                                                           {".woff", "font/woff"},
                                                           {".woff2", "font/woff2"},
                                                           {".png", "image/png"},
                                                           {".txt", "text/plain; charset=utf-8"},
                                                           {".webmanifest", "application/manifest+json"}};
  const auto it = types.find(std::filesystem::path(path).extension().string());
  return it == types.end() ? "application/octet-stream" : it->second;
}

const char* const none =
    "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>Fettle</title></head><body>"
    "<h1>The page is not inside this build</h1><p>Build it (<code>cd web &amp;&amp; npm ci &amp;&amp; npm run build"
    "</code>) and build Fettle again, or start <code>fettle serve</code> with <code>--page web/dist</code>. The JSON "
    "routes of docs/api.md work without it.</p></body></html>\n";

}  // namespace

Page Page::inside() {
  Page page;
  page.files_ = page_inside();
  return page;
}

Page Page::from_folder(const std::string& folder) {
  namespace fs = std::filesystem;
  Page page;
  std::error_code error;
  std::size_t sum = 0;
  auto it = folder.empty() ? fs::recursive_directory_iterator() : fs::recursive_directory_iterator(folder, error);
  for (; !error && it != fs::recursive_directory_iterator(); it.increment(error)) {
    std::error_code e;
    if (!it->is_regular_file(e)) continue;
    const auto bytes = base::read_file(it->path().string(), most);
    if (!bytes.ok() || (sum += bytes->size()) > most) continue;
    page.files_["/" + it->path().lexically_relative(folder).generic_string()] = *bytes;
  }
  return page;
}

Reply Page::file(const std::string& path) const {
  const auto it = files_.find(path == "/" ? "/index.html" : path);
  if (it != files_.end()) return {200, type_of(it->first), it->second};
  if (path == "/") return {200, "text/html; charset=utf-8", none};
  return {404, "text/plain; charset=utf-8", "there is no such page\n"};
}

bool Page::may_be_kept(const std::string& path) { return base::starts_with(path, "/assets/"); }

}  // namespace fettle::serve
