# One static library per folder of daemon/. MAY_USE names the folders that it may include; the table
# below is the whole architecture, and an edge that is not in it stops the configure step.

set(EBBWATCH_EDGES_core "")
set(EBBWATCH_EDGES_text core)
set(EBBWATCH_EDGES_crypto core)
set(EBBWATCH_EDGES_trace core text)
set(EBBWATCH_EDGES_charts core text)
set(EBBWATCH_EDGES_ports core)
# What is said to people, in their languages.
set(EBBWATCH_EDGES_words core text)
# What an owner says about a tank is plain data that the estimate and the settings share.
set(EBBWATCH_EDGES_timeleft core text words)
set(EBBWATCH_EDGES_settings core text words timeleft)
set(EBBWATCH_EDGES_reporting core text)
set(EBBWATCH_EDGES_ingest core text crypto ports settings reporting)
set(EBBWATCH_EDGES_witness core text crypto)
set(EBBWATCH_EDGES_store core text ports)
set(EBBWATCH_EDGES_notices core text words ports settings)
set(EBBWATCH_EDGES_advice core text ports settings charts)
# Reports fit words into lines as notices do.
set(EBBWATCH_EDGES_report core text ports settings charts notices)
set(EBBWATCH_EDGES_notifiers core text crypto ports settings)
set(EBBWATCH_EDGES_control core text ports settings reporting)
set(EBBWATCH_EDGES_board core text timeleft crypto ports settings reporting charts)
set(EBBWATCH_EDGES_app core text words timeleft crypto ports settings reporting ingest store notices notifiers control charts advice
                       report board witness)
# The command line: replay runs the core; enrol opens the store itself when no daemon runs.
set(EBBWATCH_EDGES_cli core text timeleft crypto trace ports settings store control charts advice notices report)

# The largest targets, compiled several files at a time where EBBWATCH_UNITE is on: a file costs less than
# the headers that it includes. Names in unnamed namespaces of these folders must not meet.
set(EBBWATCH_UNITED "^(ebbwatch_(app|board|cli|core|ingest|notices|notifiers|settings|bench_parts)|settings_tests|notifier_system_tests)$")

function(ebbwatch_options target)
  target_compile_options(${target} PRIVATE -Wall -Wextra -Wpedantic -Wconversion -Wshadow
                                           -Wnon-virtual-dtor)
  if(CMAKE_CXX_COMPILER_ID MATCHES "Clang") # g++ leaves it out of -Wconversion for C++.
    target_compile_options(${target} PRIVATE -Wno-sign-conversion)
  endif()
  # With optimisation g++ 12 warns of "literal" + std::string (GCC bug 105651, mended in 13).
  if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU" AND CMAKE_CXX_COMPILER_VERSION VERSION_LESS 13)
    target_compile_options(${target} PRIVATE -Wno-restrict -Wno-array-bounds -Wno-stringop-overflow
                                             -Wno-stringop-overread)
  endif()
  if(EBBWATCH_WARNINGS_AS_ERRORS)
    target_compile_options(${target} PRIVATE -Werror)
  endif()
  if(EBBWATCH_SANITIZE)
    target_compile_options(${target} PRIVATE -fsanitize=${EBBWATCH_SANITIZE}
                                             -fno-sanitize-recover=all -fno-omit-frame-pointer)
    target_link_options(${target} PRIVATE -fsanitize=${EBBWATCH_SANITIZE})
    # Its marks in front of functions break coroutines (clang up to 16, LLVM issue 49689).
    if(CMAKE_CXX_COMPILER_ID MATCHES "Clang")
      target_compile_options(${target} PRIVATE -fno-sanitize=function)
    endif()
    # Unoptimised sanitizer builds compile twice as fast; only what searches at random runs too slowly.
    if(target MATCHES "^(ebbwatch_core|core_tests|ebbwatch_notices|notices_tests|ebbwatch_witness|sim_tests)$")
      target_compile_options(${target} PRIVATE -O1)
    endif()
    if(EBBWATCH_SANITIZE STREQUAL "thread")
      target_compile_options(${target} PRIVATE -Wno-tsan) # Asio's fences: not modelled, not needed.
    endif()
  else()
    target_compile_options(${target} PRIVATE -fstack-protector-strong
                           $<$<CONFIG:Release>:-D_FORTIFY_SOURCE=2>)
    target_link_options(${target} PRIVATE -Wl,-z,relro,-z,now)
  endif()
  if(EBBWATCH_UNITE AND target MATCHES "${EBBWATCH_UNITED}")
    set_target_properties(${target} PROPERTIES UNITY_BUILD ON UNITY_BUILD_BATCH_SIZE 6)
    target_compile_options(${target} PRIVATE -Wno-shadow) # A local may be called as another file's helper.
  endif()
endfunction()

# Reading the same standard headers again costs more than half of a small unit's time.
function(ebbwatch_precompile target sources)
  list(LENGTH sources count)
  if(EBBWATCH_PRECOMPILE AND count GREATER 3)
    target_precompile_headers(${target} PRIVATE <algorithm> <functional> <map> <memory> <optional>
                              <string> <string_view> <variant> <vector> ${ARGN})
    if(CMAKE_CXX_COMPILER_ID MATCHES "Clang") # So that ccache may keep them.
      target_compile_options(${target} PRIVATE "SHELL:-Xclang -fno-pch-timestamp")
    endif()
  endif()
endfunction()

# daemon_part(notices SOURCES … MAY_USE … EXTERNAL …)
function(daemon_part name)
  cmake_parse_arguments(PART "" "" "SOURCES;MAY_USE;EXTERNAL;PRECOMPILE" ${ARGN})
  foreach(used IN LISTS PART_MAY_USE)
    if(NOT used IN_LIST EBBWATCH_EDGES_${name})
      message(FATAL_ERROR "daemon/${name} may not use daemon/${used} (tools/cmake/Parts.cmake)")
    endif()
  endforeach()
  add_library(ebbwatch_${name} STATIC ${PART_SOURCES})
  target_include_directories(ebbwatch_${name} PUBLIC ${PROJECT_SOURCE_DIR}/daemon)
  foreach(used IN LISTS PART_MAY_USE)
    target_link_libraries(ebbwatch_${name} PUBLIC ebbwatch_${used})
  endforeach()
  target_link_libraries(ebbwatch_${name} PRIVATE ${PART_EXTERNAL})
  ebbwatch_precompile(ebbwatch_${name} "${PART_SOURCES}" ${PART_PRECOMPILE})
  ebbwatch_options(ebbwatch_${name})
endfunction()

# unit_tests(core SOURCES a_test.cpp … USES ebbwatch_core …): one executable and one CTest entry for a
# folder. Every *_test.cpp of the folder must be listed: a test that no target builds is decoration.
function(unit_tests name)
  cmake_parse_arguments(TESTS "" "" "SOURCES;USES" ${ARGN})
  file(GLOB present RELATIVE ${CMAKE_CURRENT_SOURCE_DIR} CONFIGURE_DEPENDS *_test.cpp)
  foreach(file IN LISTS present)
    if(NOT file IN_LIST TESTS_SOURCES)
      message(FATAL_ERROR "${CMAKE_CURRENT_SOURCE_DIR}/${file} is in no test target")
    endif()
  endforeach()
  add_executable(${name}_tests ${TESTS_SOURCES})
  target_link_libraries(${name}_tests PRIVATE ebbwatch_test_main ${TESTS_USES})
  target_include_directories(${name}_tests PRIVATE ${PROJECT_SOURCE_DIR}/tests)
  target_compile_definitions(${name}_tests PRIVATE
    EBBWATCH_SOURCE_DIR="${PROJECT_SOURCE_DIR}" EBBWATCH_BIN_DIR="${CMAKE_BINARY_DIR}/bin")
  ebbwatch_options(${name}_tests)
  ebbwatch_precompile(${name}_tests "${TESTS_SOURCES}" <doctest/doctest.h>)
  # It defines doctest's own functions, which needs a first look at that header.
  set_source_files_properties(${PROJECT_SOURCE_DIR}/tests/unit/main.cpp
                              PROPERTIES SKIP_PRECOMPILE_HEADERS ON)
  add_test(NAME unit.${name} COMMAND ${name}_tests)
  set_tests_properties(unit.${name} PROPERTIES TIMEOUT 900)
endfunction()
