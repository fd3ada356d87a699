#include "gl.h"

#include <vector>

namespace kirtle {

GlTexture::GlTexture(GLenum target, GLint filter) : target_(target) {
  glGenTextures(1, &id_);
  glActiveTexture(GL_TEXTURE15);  // so that no texture in use loses its unit
  glBindTexture(target, id_);
  glTexParameteri(target, GL_TEXTURE_MIN_FILTER, filter);
  glTexParameteri(target, GL_TEXTURE_MAG_FILTER, filter == GL_LINEAR_MIPMAP_LINEAR ? GL_LINEAR : filter);
  for (const GLenum wrap : {GL_TEXTURE_WRAP_S, GL_TEXTURE_WRAP_T, GL_TEXTURE_WRAP_R})
    glTexParameteri(target, wrap, GL_CLAMP_TO_EDGE);
  if (filter != GL_LINEAR_MIPMAP_LINEAR) glTexParameteri(target, GL_TEXTURE_MAX_LEVEL, 0);
}

GlTexture::~GlTexture() {
  if (id_ != 0) glDeleteTextures(1, &id_);
}

void GlTexture::bind(int unit) const {
  glActiveTexture(static_cast<GLenum>(GL_TEXTURE0 + unit));
  glBindTexture(target_, id_);
}

GlCanvas::GlCanvas(int width, int height, GLenum format, GLint filter)
    : texture_(GL_TEXTURE_2D, filter), width_(width), height_(height) {
  glTexImage2D(GL_TEXTURE_2D, 0, static_cast<GLint>(format), width, height, 0, GL_RGBA, GL_FLOAT, nullptr);
  glGenFramebuffers(1, &id_);
  glBindFramebuffer(GL_FRAMEBUFFER, id_);
  glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, texture_.id(), 0);
  if (glCheckFramebufferStatus(GL_FRAMEBUFFER) != GL_FRAMEBUFFER_COMPLETE)
    throw GlError("this graphics driver cannot draw into floating-point pictures, which OpenGL 3.3 asks for");
}

GlCanvas::~GlCanvas() {
  if (id_ != 0) glDeleteFramebuffers(1, &id_);
}

void GlCanvas::draw_here() const {
  glBindFramebuffer(GL_FRAMEBUFFER, id_);
  glViewport(0, 0, width_, height_);
}

namespace {

GLuint compiled(GLenum kind, const std::string& text) {
  const GLuint shader = glCreateShader(kind);
  const char* source = text.c_str();
  glShaderSource(shader, 1, &source, nullptr);
  glCompileShader(shader);
  GLint good = 0, length = 0;
  glGetShaderiv(shader, GL_COMPILE_STATUS, &good);
  if (good != 0) return shader;
  glGetShaderiv(shader, GL_INFO_LOG_LENGTH, &length);
  std::string log(static_cast<std::size_t>(std::max(length, 1)), '\0');
  glGetShaderInfoLog(shader, length, nullptr, log.data());
  glDeleteShader(shader);
  throw GlError("the graphics driver does not take a shader of Kirtle: " + log);
}

}  // namespace

GlBuffer::GlBuffer(GLenum target, std::span<const float> values) {
  glGenBuffers(1, &id_);
  glBindBuffer(target, id_);
  glBufferData(target, static_cast<GLsizeiptr>(values.size_bytes()), values.data(), GL_STATIC_DRAW);
}

GlBuffer::~GlBuffer() {
  if (id_ != 0) glDeleteBuffers(1, &id_);
}

GlStopwatch::~GlStopwatch() {
  if (id_ != 0) glDeleteQueries(1, &id_);
}

bool GlStopwatch::start() {
  if (state_ != State::idle) return false;
  if (id_ == 0) glGenQueries(1, &id_);
  glBeginQuery(GL_TIME_ELAPSED, id_);
  state_ = State::running;
  return true;
}

void GlStopwatch::stop() {
  if (state_ != State::running) return;
  glEndQuery(GL_TIME_ELAPSED);
  state_ = State::waiting;
}

double GlStopwatch::read() {
  if (state_ != State::waiting) return -1;
  GLint there = 0;
  glGetQueryObjectiv(id_, GL_QUERY_RESULT_AVAILABLE, &there);
  if (there == 0) return -1;
  GLuint64 ns = 0;
  glGetQueryObjectui64v(id_, GL_QUERY_RESULT, &ns);
  state_ = State::idle;
  return 1e-6 * static_cast<double>(ns);
}

GlProgram::GlProgram(const std::string& vertex, const std::string& fragment) {
  const GLuint v = compiled(GL_VERTEX_SHADER, vertex), f = compiled(GL_FRAGMENT_SHADER, fragment);
  id_ = glCreateProgram();
  glAttachShader(id_, v);
  glAttachShader(id_, f);
  glLinkProgram(id_);
  glDeleteShader(v);
  glDeleteShader(f);
  GLint good = 0, length = 0;
  glGetProgramiv(id_, GL_LINK_STATUS, &good);
  if (good != 0) return;
  glGetProgramiv(id_, GL_INFO_LOG_LENGTH, &length);
  std::string log(static_cast<std::size_t>(std::max(length, 1)), '\0');
  glGetProgramInfoLog(id_, length, nullptr, log.data());
  throw GlError("the graphics driver does not link a shader of Kirtle: " + log);
}

GlProgram::~GlProgram() {
  if (id_ != 0) glDeleteProgram(id_);
}

void GlProgram::use() const { glUseProgram(id_); }
GLint GlProgram::at(const char* name) const { return glGetUniformLocation(id_, name); }

void check_gl(const char* where) {
  const GLenum error = glGetError();
  if (error != GL_NO_ERROR)
    throw GlError(std::string("OpenGL error ") + std::to_string(error) + " after " + where);
}

void count_gl_errors(int* errors) {
  if (!epoxy_has_gl_extension("GL_KHR_debug") && epoxy_gl_version() < 43) return;
  glEnable(GL_DEBUG_OUTPUT_SYNCHRONOUS);
  glDebugMessageCallback(
      [](GLenum, GLenum type, GLuint, GLenum, GLsizei, const GLchar*, const void* user) {
        if (type == GL_DEBUG_TYPE_ERROR) ++*static_cast<int*>(const_cast<void*>(user));
      },
      errors);
}

}  // namespace kirtle
