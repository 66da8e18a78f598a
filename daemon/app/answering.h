// Answers of people by link and by text become commands to the engine. Lives on the loop.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "app/answer_page.h"
#include "app/engine.h"
#include "app/reply_reader.h"
#include "ports/incoming.h"

namespace ebbwatch {

class Answering final : public IncomingTexts, public AnswerSink, public ReplySink {
 public:
  /// Must outlive it.
  explicit Answering(const Clock& clock) : clock_(clock) {}
  /// Before the first call of any other; must outlive it.
  void use(Engine& engine) { engine_ = &engine; }

  IncomingAnswer incoming_text(const std::string& notifier, const std::string& from,
                               const std::string& text) override;

  Question question(OutageId outage, Language language) const override;
  Language language_of(const std::string& keyholder) const override;
  std::string name_of(const std::string& keyholder) const override;
  bool answer_by_link(const LinkRow& link) override;

  std::vector<OutageId> open_questions() const override;
  IncomingAnswer answer_by_text(OutageId outage, const KeyholderSettings& keyholder) override;
  bool waits_for(OutageId outage, const std::string& keyholder) const override;

 private:
  Engine* engine_ = nullptr;
  const Clock& clock_;
  std::uint64_t not_understood_ = 0;  ///< Texts that answered nothing, since the start.
};

}  // namespace ebbwatch
