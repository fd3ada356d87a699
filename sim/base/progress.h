#pragma once
// How long work tells its caller how far it is and asks whether to go on.
#include <functional>
#include <stdexcept>

namespace kirtle {

/// Called now and then with the share done, 0..1, possibly from several threads but one at a time.
/// Returns false to cancel; the work then throws Cancelled.
using Progress = std::function<bool(double share)>;

/// The caller asked the work to stop.
class Cancelled : public std::runtime_error {
 public:
  Cancelled() : std::runtime_error("cancelled") {}
};

}  // namespace kirtle
