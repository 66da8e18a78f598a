#include "name_lookup.h"

#include <dlfcn.h>
#include <netdb.h>

#include <atomic>
#include <chrono>
#include <string_view>
#include <thread>

namespace {
std::atomic<int> begun{0}, ended{0};
}

namespace ebbwatch::test {
int slow_lookups_begun() {
  return begun;
}
int slow_lookups_ended() {
  return ended;
}
}  // namespace ebbwatch::test

extern "C" __attribute__((visibility("default"))) int getaddrinfo(const char* node,
                                                                  const char* service,
                                                                  const addrinfo* hints,
                                                                  addrinfo** result) {
  const std::string_view name = node == nullptr ? "" : node;
  if (name == "slow.invalid") {
    ++begun;
    std::this_thread::sleep_for(std::chrono::seconds(3));
    ++ended;
    return EAI_AGAIN;
  }
  if (name == "nobody.invalid") return EAI_NONAME;
  using Lookup = int (*)(const char*, const char*, const addrinfo*, addrinfo**);
  static const auto system_lookup = reinterpret_cast<Lookup>(dlsym(RTLD_NEXT, "getaddrinfo"));
  return system_lookup(name == "mail.example.net" ? "127.0.0.1" : node, service, hints, result);
}
