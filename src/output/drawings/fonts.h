#pragma once
// The program's own fonts (src/output/fonts), embedded, handed to fontconfig without touching the machine's fonts.
#include <span>
#include <string>
#include <string_view>

struct _FcConfig;

namespace fettle::drawings {

/// One embedded font file.
struct FontFile {
  std::string_view name;
  std::string_view bytes;
};
std::span<const FontFile> font_files();

/// A fontconfig set-up that holds the embedded fonts and nothing else; made once, kept for the life of the program.
/// Null when the files could not be handed over; then `problem` says why.
_FcConfig* font_config(std::string* problem);

}  // namespace fettle::drawings
