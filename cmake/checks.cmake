# The checks that are no C++ tests, as entries of ctest.
set(tools ${CMAKE_SOURCE_DIR}/tools)
set(python /usr/bin/python3)

# fettle_check(NAME COMMAND ...): one entry; it runs in the tree's folder.
function(fettle_check name)
  cmake_parse_arguments(C "" "" "COMMAND" ${ARGN})
  add_test(NAME ${name} COMMAND ${C_COMMAND} WORKING_DIRECTORY ${CMAKE_SOURCE_DIR})
  set_tests_properties(${name} PROPERTIES TIMEOUT 900)
endfunction()

fettle_check(check.floors COMMAND ${python} ${tools}/floors.py)
fettle_check(check.floors_samples COMMAND ${tools}/samples.sh floors)
fettle_check(check.citations_samples COMMAND ${tools}/samples.sh citations)
fettle_check(check.validation_samples COMMAND ${tools}/validation_samples.sh)
fettle_check(check.together_samples COMMAND ${tools}/together_samples.sh)
fettle_check(check.format COMMAND ${tools}/format.sh)
fettle_check(check.tidy COMMAND ${tools}/tidy.sh)
fettle_check(check.bits COMMAND ${tools}/bits.sh $<TARGET_FILE:bits>)
set_tests_properties(check.tidy check.bits PROPERTIES PROCESSORS 2)
set_tests_properties(check.bits PROPERTIES TIMEOUT 1800)  # compiles the sciences twice more
if(TARGET fettle)
  fettle_check(check.citations COMMAND ${tools}/with_reckoners.sh $<TARGET_FILE:fettle> citations)
  fettle_check(check.cli COMMAND ${python} ${CMAKE_SOURCE_DIR}/tests/cli.py $<TARGET_FILE:fettle>)
  fettle_check(check.programs COMMAND ${python} ${CMAKE_SOURCE_DIR}/tests/programs.py $<TARGET_FILE:fettle>)
  fettle_check(check.serve COMMAND ${python} ${CMAKE_SOURCE_DIR}/tests/serve.py $<TARGET_FILE:fettle>)
  fettle_check(check.serve_program COMMAND ${python} ${CMAKE_SOURCE_DIR}/tests/serve_program.py $<TARGET_FILE:fettle>)
  fettle_check(check.page COMMAND bash ${tools}/page.sh test $<TARGET_FILE:fettle>)
  file(GLOB documents CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/*.md ${CMAKE_SOURCE_DIR}/docs/*.md)
  fettle_check(check.snippets COMMAND ${python} ${tools}/snippets.py $<TARGET_FILE:fettle> ${documents})
  fettle_check(check.reckoners_page COMMAND ${tools}/with_reckoners.sh $<TARGET_FILE:fettle> page)
endif()

# Longest first, so that at the end no core waits for one that began late; what takes two cores begins while both are free.
set_tests_properties(check.bits PROPERTIES COST 1000)
set_tests_properties(check.tidy PROPERTIES COST 900)
foreach(long check.page check.cli check.snippets begin_propose.Propose app_cli.reckon app_cli.study_text study.Levers study.SameBytes
    study.Kept study.States solid.Mutants check.serve check.serve_program check.programs)
  if(TEST ${long})
    set_tests_properties(${long} PROPERTIES COST 500)
  endif()
endforeach()
