# `cmake --install build/release` puts the daemon in place: executables, unit, user, sample.
file(READ systemd/ebbwatch.service unit)
string(REPLACE "/usr/bin/ebbwatchd" "${CMAKE_INSTALL_FULL_BINDIR}/ebbwatchd" unit "${unit}")
string(REPLACE "/etc/ebbwatch/" "${CMAKE_INSTALL_FULL_SYSCONFDIR}/ebbwatch/" unit "${unit}")
file(CONFIGURE OUTPUT ${CMAKE_BINARY_DIR}/ebbwatch.service CONTENT "${unit}" @ONLY)
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS systemd/ebbwatch.service)

if(NOT TARGET ebbwatchd OR NOT TARGET ebbwatch)
  return()
endif()
install(TARGETS ebbwatchd ebbwatch RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(FILES ${CMAKE_BINARY_DIR}/ebbwatch.service DESTINATION lib/systemd/system)
install(FILES systemd/ebbwatch.sysusers DESTINATION lib/sysusers.d RENAME ebbwatch.conf)
install(FILES config/ebbwatch.yaml DESTINATION ${CMAKE_INSTALL_FULL_SYSCONFDIR}/ebbwatch
        RENAME ebbwatch.yaml.sample)
install(FILES LICENSE README.md CHANGELOG.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES LICENSE DESTINATION ${CMAKE_INSTALL_DOCDIR} RENAME copyright) # As Debian wants it.
install(FILES packaging/man/ebbwatch.1 DESTINATION ${CMAKE_INSTALL_MANDIR}/man1)
install(FILES packaging/man/ebbwatchd.8 DESTINATION ${CMAKE_INSTALL_MANDIR}/man8)
install(FILES packaging/completion/ebbwatch DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
install(FILES systemd/drop-ins/modem.conf systemd/drop-ins/program.conf DESTINATION ${CMAKE_INSTALL_DOCDIR}/drop-ins)
include(tools/cmake/Package.cmake)
