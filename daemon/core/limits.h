// Every upper bound, in one place. A full queue or list has a written answer where it is used.
#pragma once

#include <cstddef>
#include <cstdint>

#include "core/time.h"

namespace ebbwatch::limits {

inline constexpr std::size_t evidence_per_decision =
    8;  ///< Further facts are dropped, weakest last.
inline constexpr std::size_t controllers_max = 1'000'000;
inline constexpr std::size_t identifier_chars_max = 63;
inline constexpr std::size_t name_chars_max = 80;

// Check-in over HTTP.
inline constexpr std::size_t check_in_body_bytes_max = 16 * 1024;
inline constexpr std::size_t http_header_bytes_max = 8 * 1024;
inline constexpr std::size_t http_connections_max = 2'000;
inline constexpr std::size_t http_connections_per_address_max = 64;
inline constexpr Span http_read_time_max = Span::of_s(10);  ///< Whole request, so slow senders end.
inline constexpr Span http_idle_time_max = Span::of_s(75);  ///< Kept-alive and quiet.
inline constexpr Span check_in_spacing_min = Span::of_ms(200);  ///< Faster on average: 429.
inline constexpr std::uint32_t check_in_burst_max = 20;
inline constexpr std::uint32_t wrong_credentials_free = 10;  ///< Per sender, then ever longer 429s.
inline constexpr Span wrong_credentials_wait_max = Span::of_min(15);
inline constexpr std::size_t wrong_senders_max = 4096;  ///< Remembered; the oldest is forgotten.
inline constexpr std::size_t nonces_max = 100'000;      ///< Remembered; further signatures: 429.
inline constexpr Span http_linger_time_max = Span::of_s(2);  ///< For the rest of a refused request.
inline constexpr std::size_t json_depth_max = 32;
inline constexpr std::size_t readings_max = 64;  ///< Further readings are refused (400).

// Check-in over UDP.
inline constexpr std::size_t datagram_bytes_max = 512;
inline constexpr Span datagram_clock_tolerance = Span::of_s(300);  ///< Of a controller's clock.
inline constexpr Span datagram_echo_time_max = Span::of_h(24);     ///< From its giving to its use.
inline constexpr std::size_t datagrams_per_turn_max = 512;  ///< Then the loop does other things.
inline constexpr int datagram_buffer_bytes = 4 * 1024 * 1024;
inline constexpr Span datagram_told_every = Span::of_min(10);  ///< Log lines about one controller.

// TLS of our own listeners.
inline constexpr Span tls_handshake_time_max = Span::of_s(10);
inline constexpr Span tls_look_every =
    Span::of_min(1);  ///< Whether the certificate's file changed.

// Check-in over MQTT.
inline constexpr Span mqtt_keep_alive = Span::of_s(30);  ///< The broker ends us after 1.5 times it.
inline constexpr Span mqtt_connect_time_max = Span::of_s(20);       ///< Until it has taken us on.
inline constexpr Span mqtt_prove_every = Span::of_s(10);            ///< Whether it still answers.
inline constexpr Span mqtt_answer_time_max = Span::of_s(15);        ///< Then it counts as gone.
inline constexpr std::ptrdiff_t mqtt_messages_waiting_max = 1'000;  ///< Then no more are read.
inline constexpr std::uint32_t mqtt_packet_bytes_max =
    64 * 1024;                                           ///< Asked of the broker (MQTT 5).
inline constexpr Span mqtt_retry_first = Span::of_s(1);  ///< Doubled with each failure.
inline constexpr Span mqtt_retry_last = Span::of_s(30);
inline constexpr Span mqtt_told_every = Span::of_min(10);  ///< Log lines about one controller.

// Outgoing.
inline constexpr std::size_t answer_text_bytes_max = 512;  ///< Kept of a server's answer.
inline constexpr std::size_t notices_in_flight_per_notifier_max = 4;
inline constexpr Span deliver_time_max = Span::of_s(60);
inline constexpr Span transfer_time_max =
    Span::of_s(50);                                       ///< One HTTP or SMTP exchange, all of it.
inline constexpr Span connect_time_max = Span::of_s(15);  ///< Of that: name, connection, TLS.
inline constexpr std::size_t answer_body_bytes_max = 16 * 1024;    ///< Read of a server's answer.
inline constexpr std::size_t answer_header_bytes_max = 64 * 1024;  ///< More ends the transfer.
inline constexpr std::size_t answer_matched_bytes_max = 1024;      ///< Compared with `success`.
inline constexpr Span retry_after_max = Span::of_h(1);
inline constexpr Span program_time_max = Span::of_s(50);
inline constexpr Span program_grace = Span::of_s(3);  ///< From TERM to KILL.

// People.
inline constexpr Span shelf_time_max = Span::of_days(30);
inline constexpr std::size_t reason_chars_max = 200;  ///< Of a shelf; longer ones are refused.

inline constexpr std::size_t note_chars_max = 2'000;  ///< Of a note to an outage.

// Store.
inline constexpr Span store_busy_wait_max = Span::of_s(5);  ///< For another process's write lock.

// Control socket.
inline constexpr std::size_t control_request_bytes_max = 64 * 1024;
inline constexpr std::size_t control_connections_max = 16;

// Board.
inline constexpr std::size_t board_sessions_max = 1'000;  ///< More: the one that ends first goes.
inline constexpr std::size_t board_streams_max = 200;     ///< Open pages; further ones: 503.
inline constexpr std::size_t board_events_kept = 500;     ///< For pages that come back.
inline constexpr std::size_t board_history_rows_max = 500;
inline constexpr std::size_t board_history_looked_at_max = 20'000;  ///< Lines, for one search.
inline constexpr std::size_t board_drills_max = 100;
inline constexpr std::size_t board_connections_max = 500;
inline constexpr Span board_heartbeat = Span::of_s(15);
inline constexpr std::size_t board_password_chars_min = 10;
inline constexpr std::size_t board_password_bytes_max = 1'024;
inline constexpr std::size_t logins_waiting_max = 4;  ///< Each costs 32 MiB and some tenths of 1 s.
inline constexpr std::uint32_t login_wrong_free = 5;  ///< Per sender, then ever longer waits.
inline constexpr Span login_wait_max = Span::of_min(1);
inline constexpr Span login_forget_after = Span::of_h(1);
inline constexpr std::size_t login_senders_max = 4'096;

}  // namespace ebbwatch::limits
