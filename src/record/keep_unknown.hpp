// Fields that this version does not know, carried over from the document as it was read.
#pragma once
#include "json/object.hpp"

namespace rondure::record {

using json::Json;

// `was`: the document as read; `understood`: what this version reads of it, written again; `now`: what is to
// be written. Whatever stands in `was` and not in `understood` is unknown and is added to the matching place
// of `now`. Elements of lists match by name, label, order (upr), source or code, else when they are
// unchanged.
void keep_unknown(const Json& was, const Json& understood, Json& now);

}  // namespace rondure::record
