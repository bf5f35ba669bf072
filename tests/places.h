#pragma once
// Folders that tests read from and write to. The build's own folder stands in places.cpp alone, so that the compiler
// cache knows a test again that was compiled in another build folder.
namespace fettle::test {
/// The build folder: records, locales, files that tests write.
extern const char* const binary_dir;
}  // namespace fettle::test
