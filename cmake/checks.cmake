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
fettle_check(check.format COMMAND ${tools}/format.sh)
fettle_check(check.tidy COMMAND ${tools}/tidy.sh)
fettle_check(check.bits COMMAND ${tools}/bits.sh $<TARGET_FILE:bits>)
set_tests_properties(check.tidy check.bits PROPERTIES PROCESSORS 2)
if(TARGET fettle)
  fettle_check(check.citations COMMAND ${tools}/with_reckoners.sh $<TARGET_FILE:fettle> citations)
  fettle_check(check.reckoners_page COMMAND ${tools}/with_reckoners.sh $<TARGET_FILE:fettle> page)
endif()
