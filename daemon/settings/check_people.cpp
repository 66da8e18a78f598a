#include <algorithm>

#include "settings/check.h"
#include "text/duration.h"
#include "words/language.h"

namespace ebbwatch {
namespace {

template <class Item>
const Item* find(const std::vector<Item>& items, const std::string& id) {
  const auto found =
      std::find_if(items.begin(), items.end(), [&](const Item& item) { return item.id == id; });
  return found == items.end() ? nullptr : &*found;
}

// What a notifier of the kind needs of a keyholder and this one has not; null when it has all.
const char* missing_for(NotifierKind kind, const KeyholderSettings& keyholder) {
  switch (kind) {
    case NotifierKind::email:
      return keyholder.email.empty() ? "email" : nullptr;
    case NotifierKind::sms_gateway:
    case NotifierKind::gsm_modem:
      return keyholder.phone.empty() ? "phone" : nullptr;
    case NotifierKind::webhook:
    case NotifierKind::program:
      return nullptr;
  }
  return nullptr;
}

void check_ways(const Settings& settings, const CallStep& step, const std::string& path,
                std::vector<Finding>& out) {
  for (std::size_t b = 0; b < step.by.size(); ++b) {
    const NotifierSettings* notifier = find(settings.notifiers, step.by[b]);
    if (notifier == nullptr) continue;
    for (const std::string& id : step.tell) {
      const KeyholderSettings* keyholder = find(settings.keyholders, id);
      const char* missing =
          keyholder == nullptr ? nullptr : missing_for(notifier->kind, *keyholder);
      if (missing == nullptr) continue;
      out.push_back(
          {indexed(path + ".by", b), "\"" + notifier->id + "\" cannot reach \"" + id + "\"",
           std::string("keyholders with ") +
               (missing == std::string("email") ? "an email" : "a phone"),
           "Give " + id + " " + missing + ": …, or make a step of its own for " + id + "."});
    }
  }
}

void check_steps(const Settings& settings, std::size_t list, std::vector<Finding>& out) {
  const CallListSettings& call_list = settings.call_lists[list];
  const std::string path = indexed("call_lists", list);
  if (call_list.steps.empty()) {
    out.push_back({path + ".steps", "no step", "at least one step", ""});
  }
  for (std::size_t i = 0; i < call_list.steps.size(); ++i) {
    const std::string step_path = indexed(path + ".steps", i);
    check_ways(settings, call_list.steps[i], step_path, out);
    if (i == 0 || !(call_list.steps[i].after < call_list.steps[i - 1].after)) continue;
    out.push_back({step_path + ".after",
                   duration_text(call_list.steps[i].after) + ", before the step above it",
                   "at least " + duration_text(call_list.steps[i - 1].after),
                   "Each time counts from the loss, not from the step before."});
  }
}

// Exercises have to come more often than ways go stale, and a time of day needs whole days.
void check_drills(const CallListSettings& list, const std::string& path,
                  std::vector<Finding>& out) {
  const auto& every = list.drills.every;
  if (list.drills.at && every && *every < Span::of_days(1)) {
    out.push_back({path + ".drills.at",
                   "a time of day, though drills come every " + duration_text(*every),
                   "only where every is 1d or longer", "Leave at out."});
  }
  if (list.prove_every && every && *list.prove_every < *every) {
    out.push_back({path + ".prove_every", duration_text(*list.prove_every),
                   "at least drills.every, " + duration_text(*every),
                   "Half as much again leaves people time to answer."});
  }
}

// Languages that are not spoken here may be named, as long as there is one that is.
void check_languages(const std::vector<std::string>& tags, const std::string& path,
                     std::vector<Finding>& out) {
  bool any_known = tags.empty();
  std::string all;
  for (std::size_t i = 0; i < tags.size(); ++i) {
    const auto fault = language_fault(tags[i]);
    note(fault, indexed(path, i), out);
    any_known = any_known || fault || known_language(tags[i]);
    all += (all.empty() ? "" : ", ") + tags[i];
  }
  if (any_known) return;
  out.push_back({path, "only " + all, "at least one of " + language_codes(),
                 "Notices come in the first language of the list that ebbwatch speaks."});
}

void check_hours(const CallListSettings& list, const std::string& path, std::vector<Finding>& out) {
  if (!list.otherwise) return;
  if (list.hours.empty()) {
    out.push_back({path + ".otherwise", "another list, though this one has no hours",
                   "only beside hours", "Say when this list is used: hours: [shop]."});
  } else if (*list.otherwise == list.id) {
    out.push_back({path + ".otherwise", "the list itself", "another call list", ""});
  }
}

}  // namespace

void check_people(const Settings& settings, std::vector<Finding>& out) {
  for (std::size_t i = 0; i < settings.keyholders.size(); ++i) {
    const KeyholderSettings& keyholder = settings.keyholders[i];
    const std::string path = indexed("keyholders", i);
    if (!keyholder.email.empty()) note(mailbox_fault(keyholder.email), path + ".email", out);
    if (!keyholder.phone.empty()) note(phone_fault(keyholder.phone), path + ".phone", out);
    check_languages(keyholder.languages, path + ".languages", out);
  }
  for (std::size_t i = 0; i < settings.call_lists.size(); ++i) {
    check_steps(settings, i, out);
    check_drills(settings.call_lists[i], indexed("call_lists", i), out);
    check_hours(settings.call_lists[i], indexed("call_lists", i), out);
  }
}

}  // namespace ebbwatch
