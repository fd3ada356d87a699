#pragma once
// Which model a result was worked out by, for results that are kept.

namespace kirtle {

/// To be raised by one with every change after which a print, a finding or a choice among designs comes out
/// otherwise. What kirtle range has kept under another number is worked out again.
constexpr int kModelRevision = 2;

}  // namespace kirtle
