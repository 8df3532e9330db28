#include <nettle/sha2.h>

#include <fstream>

#include "rondure/record/part_record.hpp"

namespace rondure {
namespace {

class Sha256 {
public:
  Sha256() { sha256_init(&context_); }
  void add(const char* bytes, std::size_t count) {
    sha256_update(&context_, count, reinterpret_cast<const uint8_t*>(bytes));
  }
  std::string hex() {
    uint8_t digest[SHA256_DIGEST_SIZE];
    sha256_digest(&context_, sizeof digest, digest);
    constexpr char kHex[] = "0123456789abcdef";
    std::string text;
    for (const uint8_t byte : digest) text += {kHex[byte >> 4], kHex[byte & 15]};
    return text;
  }

private:
  sha256_ctx context_;
};

}  // namespace

std::string sha256_hex(const std::string& bytes) {
  Sha256 digest;
  digest.add(bytes.data(), bytes.size());
  return digest.hex();
}

std::optional<std::string> sha256_of_file(const std::filesystem::path& file) {
  std::error_code failed;
  std::ifstream in(file, std::ios::binary);
  if (!std::filesystem::is_regular_file(file, failed) || !in) return std::nullopt;
  Sha256 digest;
  char block[65536];
  while (in.read(block, sizeof block) || in.gcount() > 0)
    digest.add(block, static_cast<std::size_t>(in.gcount()));
  if (in.bad()) return std::nullopt;
  return digest.hex();
}

}  // namespace rondure
