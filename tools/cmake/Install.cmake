# `cmake --install build/release` puts the daemon in place: executables, unit, user, sample.
configure_file(systemd/ebbwatch.service.in ${CMAKE_BINARY_DIR}/ebbwatch.service @ONLY)

if(NOT TARGET ebbwatchd OR NOT TARGET ebbwatch)
  return()
endif()
install(TARGETS ebbwatchd ebbwatch RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(FILES ${CMAKE_BINARY_DIR}/ebbwatch.service DESTINATION lib/systemd/system)
install(FILES systemd/ebbwatch.sysusers DESTINATION lib/sysusers.d RENAME ebbwatch.conf)
install(FILES config/ebbwatch.yaml DESTINATION ${CMAKE_INSTALL_FULL_SYSCONFDIR}/ebbwatch
        RENAME ebbwatch.yaml.sample)
install(FILES LICENSE README.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
