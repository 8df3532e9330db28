#include <nettle/sha2.h>

#include "rondure/record/part_record.hpp"

namespace rondure {

std::string sha256_hex(const std::string& bytes) {
  sha256_ctx context;
  sha256_init(&context);
  sha256_update(&context, bytes.size(), reinterpret_cast<const uint8_t*>(bytes.data()));
  uint8_t digest[SHA256_DIGEST_SIZE];
  sha256_digest(&context, sizeof digest, digest);
  constexpr char kHex[] = "0123456789abcdef";
  std::string hex;
  for (const uint8_t byte : digest) hex += {kHex[byte >> 4], kHex[byte & 15]};
  return hex;
}

}  // namespace rondure
