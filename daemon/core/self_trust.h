// Was I running, and does my own link work? Silence counts only while both are so.
//
// Every sign of life of this watcher and every proof of its link is a moment. Between two such
// moments it listened, unless they lie too far apart or a check of the link failed in between: then
// the time between them is blind and nobody's silence. Thus the length of a blind spell is known
// when it ends, never guessed while it lasts, and a verdict waits for the next proof.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "core/ids.h"
#include "core/time.h"

namespace ebbwatch {

/// What a controller's check-ins need to reach the watcher.
enum class Path : std::uint8_t {
  local,   ///< Same site: only a running watcher.
  remote,  ///< The watcher's own link as well.
};

struct BlindSpell {
  enum class Why : std::uint8_t { stopped, link, broker };
  Instant from;
  Instant to;
  Why why = Why::link;
  bool announced = false;  ///< By a stop, a start or a jump of the clock, not found by its signs.
};

class SelfTrust {
 public:
  struct Rules {
    std::uint32_t references = 0;
    std::uint32_t quorum = 0;  ///< 0: the link is not judged.
    Span uplink_every;
    bool judges_presence = false;
  };
  SelfTrust(Rules rules, Instant now);

  /// The watcher itself did or heard something at `at`. @return the blind spell that this ends.
  std::optional<BlindSpell> sign(Instant at);
  /// It began (again) to listen. @return the spell since it last did.
  std::optional<BlindSpell> started(Instant at);
  void stopped(Instant at);
  std::optional<BlindSpell> jumped(Instant at, Span blind_for);

  /// One check of the link; call sign() first. @return the spell that this ends.
  std::optional<BlindSpell> checked(Instant at, ReferenceIndex reference, bool answered);
  /// Something came in over the link; call sign() first. @return the spell that this ends.
  std::optional<BlindSpell> heard_remote(Instant at);

  /// The message broker answered, or does not any more. @return the spell that this ends, in which
  /// nothing could come through it.
  std::optional<BlindSpell> broker(Instant at, bool answers);

  bool running() const { return running_; }
  bool judges_presence() const { return rules_.judges_presence; }
  bool judges_link() const { return rules_.quorum > 0 && rules_.references > 0; }
  bool link_trusted() const { return running_ && !link_failed_; }
  /// Last moment at which a message on this path would certainly have been heard.
  Instant proof(Path path) const { return path == Path::local ? last_sign_ : last_proof_; }
  bool judges_broker() const { return !broker_proof_.is_never(); }
  bool broker_trusted() const { return !broker_failed_; }
  /// When the broker answered last; without answers yet, when it was first asked. @pre
  /// judges_broker().
  Instant broker_proof() const { return broker_proof_; }
  /// When the link began to be doubtful. @pre !link_trusted().
  Instant link_doubt_since() const { return last_proof_; }

 private:
  std::optional<BlindSpell> prove_link(Instant at);
  void spell_ended(Instant at);

  Rules rules_;
  std::vector<bool> answered_;
  Instant last_sign_;
  Instant last_proof_;
  bool running_ = true;
  bool link_failed_ = false;  // a check failed since the last proof
  Instant broker_proof_ = Instant::never();
  bool broker_failed_ = false;
};

}  // namespace ebbwatch
