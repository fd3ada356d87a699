#include "offscreen.h"

#include "gl.h"

#include <epoxy/egl.h>
#include <vector>

namespace kirtle {

struct Offscreen::State {
  EGLDisplay display = EGL_NO_DISPLAY;
  EGLContext context = EGL_NO_CONTEXT;
};

namespace {

bool has(const char* list, const char* name) {
  return list != nullptr && std::string(list).find(name) != std::string::npos;
}

/// Displays worth a try: graphics cards first, then Mesa without a surface, which draws in software.
std::vector<EGLDisplay> displays() {
  std::vector<EGLDisplay> out;
  const char* client = eglQueryString(EGL_NO_DISPLAY, EGL_EXTENSIONS);
  if (has(client, "EGL_EXT_platform_device") && has(client, "EGL_EXT_device_enumeration")) {
    EGLDeviceEXT devices[16];
    EGLint count = 0;
    if (eglQueryDevicesEXT(16, devices, &count) == EGL_TRUE) {
      for (EGLint i = 0; i < count; ++i) {
        const char* kind = has(client, "EGL_EXT_device_query")
                               ? eglQueryDeviceStringEXT(devices[i], EGL_EXTENSIONS)
                               : nullptr;
        if (has(kind, "EGL_MESA_device_software")) continue;
        out.push_back(eglGetPlatformDisplayEXT(EGL_PLATFORM_DEVICE_EXT, devices[i], nullptr));
      }
    }
  }
  if (has(client, "EGL_MESA_platform_surfaceless"))
    out.push_back(eglGetPlatformDisplayEXT(EGL_PLATFORM_SURFACELESS_MESA, nullptr, nullptr));
  return out;
}

}  // namespace

Offscreen::Offscreen(bool debug) : state_(std::make_unique<State>()) {
  std::string tried = "EGL offers no display without a window";
  for (const EGLDisplay display : displays()) {
    if (display == EGL_NO_DISPLAY || eglInitialize(display, nullptr, nullptr) != EGL_TRUE) continue;
    if (eglBindAPI(EGL_OPENGL_API) != EGL_TRUE) {
      tried = "EGL has no OpenGL";
      continue;
    }
    const EGLint config_keys[] = {EGL_SURFACE_TYPE, EGL_PBUFFER_BIT, EGL_RENDERABLE_TYPE, EGL_OPENGL_BIT,
                                  EGL_NONE};
    EGLConfig config = EGL_NO_CONFIG_KHR;
    EGLint count = 0;
    if (eglChooseConfig(display, config_keys, &config, 1, &count) != EGL_TRUE || count == 0)
      config = EGL_NO_CONFIG_KHR;
    const EGLint context_keys[] = {EGL_CONTEXT_MAJOR_VERSION,
                                   3,
                                   EGL_CONTEXT_MINOR_VERSION,
                                   3,
                                   EGL_CONTEXT_OPENGL_PROFILE_MASK,
                                   EGL_CONTEXT_OPENGL_CORE_PROFILE_BIT,
                                   EGL_CONTEXT_OPENGL_DEBUG,
                                   debug ? EGL_TRUE : EGL_FALSE,
                                   EGL_NONE};
    const EGLContext context = eglCreateContext(display, config, EGL_NO_CONTEXT, context_keys);
    if (context == EGL_NO_CONTEXT) {
      tried = "the driver has no OpenGL 3.3";
      eglTerminate(display);
      continue;
    }
    if (eglMakeCurrent(display, EGL_NO_SURFACE, EGL_NO_SURFACE, context) != EGL_TRUE) {
      tried = "the driver draws into windows only";
      eglDestroyContext(display, context);
      eglTerminate(display);
      continue;
    }
    state_->display = display;
    state_->context = context;
    return;
  }
  throw GlError("OpenGL 3.3 is not to be had without a window: " + tried);
}

Offscreen::~Offscreen() {
  if (state_->display == EGL_NO_DISPLAY) return;
  eglMakeCurrent(state_->display, EGL_NO_SURFACE, EGL_NO_SURFACE, EGL_NO_CONTEXT);
  eglDestroyContext(state_->display, state_->context);
  eglTerminate(state_->display);
}

std::string Offscreen::renderer() const { return reinterpret_cast<const char*>(glGetString(GL_RENDERER)); }

}  // namespace kirtle
