#pragma once
// An OpenGL context without a window: for pictures by command and for tests.
#include <memory>
#include <string>

namespace kirtle {

class Offscreen {
 public:
  /// EGL on a device where there is one, else without a surface (software). debug: a debug context. Throws
  /// GlError saying what is missing.
  explicit Offscreen(bool debug = false);
  ~Offscreen();
  Offscreen(const Offscreen&) = delete;
  Offscreen& operator=(const Offscreen&) = delete;
  /// What draws: the driver's own name.
  std::string renderer() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace kirtle
