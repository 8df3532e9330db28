// A decoder that may fail on a hostile file, in a process of its own: where it crashes, or does not come to an end, the file
// is refused, and nothing else is lost.
//
// fork and a pipe: the child decodes and writes head, texts and samples; the parent reads. The child says nothing on the
// terminal, leaves no core file and is ended after kMost_s of processor time. Found needed with libraw 0.20.2, which reads
// past its tables where a DNG's CFAPattern claims 36 entries.
#pragma once
#include <functional>

#include "photo/picture/picture_decoders.hpp"

namespace rondure {

// Pictures of 16 bits only. Errors: those of `decode`; kFileDamaged where it crashed or was ended. Where no process can be
// had, `decode` runs here.
Result<Picture> decoded_apart(const std::function<Result<Picture>()>& decode);

}  // namespace rondure
