#include "crypto/wipe.h"

#include <openssl/crypto.h>

namespace ebbwatch {

void wipe(std::span<unsigned char> bytes) {
  OPENSSL_cleanse(bytes.data(), bytes.size());
}

void wipe(std::string& text) {
  text.resize(text.capacity());
  OPENSSL_cleanse(text.data(), text.size());
  text.clear();
}

}  // namespace ebbwatch
