#pragma once
// OpenGL 3.3 core objects that free themselves. All need the context current.
#include <cstddef>
#include <epoxy/gl.h>
#include <span>
#include <stdexcept>
#include <string>
#include <utility>

namespace kirtle {

/// The graphics driver refuses something: a shader, a buffer, a context.
class GlError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// A texture. Filter and wrap are set when it is made.
class GlTexture {
 public:
  GlTexture() = default;
  explicit GlTexture(GLenum target, GLint filter = GL_NEAREST);
  ~GlTexture();
  GlTexture(GlTexture&& o) noexcept : target_(o.target_), id_(std::exchange(o.id_, 0)) {}
  GlTexture& operator=(GlTexture&& o) noexcept {
    std::swap(id_, o.id_);
    std::swap(target_, o.target_);
    return *this;
  }
  GLuint id() const { return id_; }
  GLenum target() const { return target_; }
  explicit operator bool() const { return id_ != 0; }
  void bind(int unit) const;

 private:
  GLenum target_ = GL_TEXTURE_2D;
  GLuint id_ = 0;
};

/// A texture of one float channel or four, to draw into.
class GlCanvas {
 public:
  GlCanvas() = default;
  GlCanvas(int width, int height, GLenum format, GLint filter);
  ~GlCanvas();
  GlCanvas(GlCanvas&& o) noexcept
      : texture_(std::move(o.texture_)), id_(std::exchange(o.id_, 0)), width_(o.width_), height_(o.height_) {}
  GlCanvas& operator=(GlCanvas&& o) noexcept {
    texture_ = std::move(o.texture_);
    std::swap(id_, o.id_);
    width_ = o.width_;
    height_ = o.height_;
    return *this;
  }
  void draw_here() const;  ///< binds it with a viewport of its own size
  const GlTexture& texture() const { return texture_; }
  GLuint id() const { return id_; }
  int width() const { return width_; }
  int height() const { return height_; }

 private:
  GlTexture texture_;
  GLuint id_ = 0;
  int width_ = 0, height_ = 0;
};

/// A buffer filled once with floats.
class GlBuffer {
 public:
  GlBuffer() = default;
  GlBuffer(GLenum target, std::span<const float> values);
  ~GlBuffer();
  GlBuffer(GlBuffer&& o) noexcept : id_(std::exchange(o.id_, 0)) {}
  GlBuffer& operator=(GlBuffer&& o) noexcept {
    std::swap(id_, o.id_);
    return *this;
  }
  GLuint id() const { return id_; }

 private:
  GLuint id_ = 0;
};

/// How long the card takes, without waiting for it.
class GlStopwatch {
 public:
  GlStopwatch() = default;
  ~GlStopwatch();
  GlStopwatch(const GlStopwatch&) = delete;
  GlStopwatch& operator=(const GlStopwatch&) = delete;
  /// Between the two: what is timed. False, and nothing is timed, while an earlier time has not been read.
  bool start();
  void stop();
  /// ms of the last time, once it is there; < 0 = not yet, or read already.
  double read();

 private:
  GLuint id_ = 0;
  enum class State { idle, running, waiting } state_ = State::idle;
};

class GlProgram {
 public:
  GlProgram() = default;
  /// Throws GlError with the driver's log.
  GlProgram(const std::string& vertex, const std::string& fragment);
  ~GlProgram();
  GlProgram(GlProgram&& o) noexcept : id_(std::exchange(o.id_, 0)) {}
  GlProgram& operator=(GlProgram&& o) noexcept {
    std::swap(id_, o.id_);
    return *this;
  }
  void use() const;
  GLint at(const char* name) const;
  GLuint id() const { return id_; }
  explicit operator bool() const { return id_ != 0; }

 private:
  GLuint id_ = 0;
};

/// Throws GlError naming `where` if OpenGL has an error waiting.
void check_gl(const char* where);
/// In a debug context: driver messages of kind error go to `errors` (which must outlive the context).
void count_gl_errors(int* errors);

}  // namespace kirtle
