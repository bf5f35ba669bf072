#include "output/drawings/fonts.h"

#include <fontconfig/fontconfig.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstdlib>
#include <string>

// The assembler places each file's bytes between two symbols.
#define FETTLE_EMBED(symbol, file)                                      \
  __asm__(                                                              \
      ".section .rodata\n"                                              \
      ".global " #symbol "\n.balign 16\n" #symbol                       \
      ":\n"                                                             \
      ".incbin \"" FETTLE_FONTS_DIR "/" file                            \
      "\"\n"                                                            \
      ".global " #symbol "_end\n" #symbol                               \
      "_end:\n"                                                         \
      ".byte 0\n.previous\n");                                          \
  extern "C" const char symbol[] __attribute__((visibility("hidden"))); \
  extern "C" const char symbol##_end[] __attribute__((visibility("hidden")));

FETTLE_EMBED(fettle_font_text, "AtkinsonHyperlegible-Regular.ttf")
FETTLE_EMBED(fettle_font_text_bold, "AtkinsonHyperlegible-Bold.ttf")
FETTLE_EMBED(fettle_font_mono, "AtkinsonHyperlegibleMono-Regular.ttf")
FETTLE_EMBED(fettle_font_mono_bold, "AtkinsonHyperlegibleMono-Bold.ttf")
FETTLE_EMBED(fettle_font_signs, "FettleSigns-Regular.ttf")

namespace fettle::drawings {
namespace {

std::string_view between(const char* begin, const char* end) { return {begin, static_cast<std::size_t>(end - begin)}; }

/// Fontconfig and FreeType open fonts by path. An anonymous memory file has one, without leaving anything on disk; the
/// descriptor stays open on purpose. Where that is refused, a temporary file serves, unlinked at exit.
std::string path_of(const FontFile& font) {
  int file = memfd_create(std::string(font.name).c_str(), MFD_CLOEXEC);
  std::string path;
  if (file >= 0) path = "/proc/self/fd/" + std::to_string(file);
  if (file < 0 || access(path.c_str(), R_OK) != 0) {
    if (file >= 0) close(file);
    const char* folder = std::getenv("TMPDIR");
    path = std::string(folder && *folder ? folder : "/tmp") + "/fettle-font-XXXXXX";
    file = mkstemp(path.data());
    if (file < 0) return {};
    static std::string to_remove[8];
    static int count = 0;
    if (count < 8) to_remove[count++] = path;
    if (count == 1)
      std::atexit([] {
        for (int i = 0; i < count; ++i) unlink(to_remove[i].c_str());
      });
  }
  for (std::size_t done = 0; done < font.bytes.size();) {
    const ssize_t n = write(file, font.bytes.data() + done, font.bytes.size() - done);
    if (n <= 0) return {};
    done += static_cast<std::size_t>(n);
  }
  return path;
}

struct Made {
  FcConfig* config = nullptr;
  std::string problem;
};

Made make() {
  Made made;
  made.config = FcConfigCreate();
  if (!made.config) return {nullptr, "fontconfig could not be started"};
  for (const FontFile& font : font_files()) {
    const std::string path = path_of(font);
    if (path.empty() || !FcConfigAppFontAddFile(made.config, reinterpret_cast<const FcChar8*>(path.c_str())))
      return {nullptr, "the embedded font " + std::string(font.name) + " could not be handed over"};
  }
  return made;
}

}  // namespace

std::span<const FontFile> font_files() {
  static const FontFile files[] = {
      {"AtkinsonHyperlegible-Regular", between(fettle_font_text, fettle_font_text_end)},
      {"AtkinsonHyperlegible-Bold", between(fettle_font_text_bold, fettle_font_text_bold_end)},
      {"AtkinsonHyperlegibleMono-Regular", between(fettle_font_mono, fettle_font_mono_end)},
      {"AtkinsonHyperlegibleMono-Bold", between(fettle_font_mono_bold, fettle_font_mono_bold_end)},
      {"FettleSigns-Regular", between(fettle_font_signs, fettle_font_signs_end)},
  };
  return files;
}

_FcConfig* font_config(std::string* problem) {
  static const Made made = make();
  if (!made.config && problem) *problem = made.problem;
  return made.config;
}

}  // namespace fettle::drawings
