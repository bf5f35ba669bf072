# The built page (web/dist, made by `npm run build` in web/) inside the executable; without it the list is empty and the
# server says so.
set(page ${CMAKE_SOURCE_DIR}/web/dist)
file(GLOB_RECURSE page_files RELATIVE ${page} CONFIGURE_DEPENDS ${page}/*)
set(bytes "")
set(rows "")
set(names "")
set(count 0)
if("index.html" IN_LIST page_files)
  foreach(file ${page_files})
    string(APPEND bytes "__asm__(\".section .rodata\\n.global fettle_page_${count}\\n.global fettle_page_end_${count}\\n\"\n"
      "        \"fettle_page_${count}: .incbin \\\"${page}/${file}\\\"\\nfettle_page_end_${count}: .byte 0\\n.text\\n\");\n")
    string(APPEND names "extern const char fettle_page_${count}[], fettle_page_end_${count}[];\n")
    string(APPEND rows "  out[\"/${file}\"].assign(fettle_page_${count}, fettle_page_end_${count});\n")
    math(EXPR count "${count} + 1")
  endforeach()
endif()
set(page_source ${CMAKE_BINARY_DIR}/page_inside.cpp)
file(CONFIGURE OUTPUT ${page_source} @ONLY CONTENT
"// Made by cmake/page.cmake.
#include \"app/serve/page.h\"
@bytes@extern \"C\" {
@names@}
namespace fettle::serve {
std::map<std::string, std::string> page_inside() {
  std::map<std::string, std::string> out;
@rows@  return out;
}
}  // namespace fettle::serve
")
list(TRANSFORM page_files PREPEND ${page}/)
set_source_files_properties(${page_source} PROPERTIES OBJECT_DEPENDS "${page_files}")
target_sources(fettle_app_serve PRIVATE ${page_source})
