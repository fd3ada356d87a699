#include "app.h"

namespace kirtle {

namespace {
constexpr double kMovingMs = 2;  // leaves room for the window itself in 4 ms
}

App::App(Session& session, float scale, bool software) : session_(session), look_(set_look(scale)) {
  window_.driver = reinterpret_cast<const char*>(glGetString(GL_RENDERER));
  window_.software = software;
  if (software) {
    renderer_.settings.processor = true;
    renderer_.settings.most_passes = 8;
  } else {
    renderer_.settings.points = 2;
    renderer_.settings.moving_ms = kMovingMs;
  }
}

void App::panels(float width, float height) {
  const Layout layout = this->layout(width, height);
  Ui ui{session_, renderer_, layout, look_, window_};
  take_keys(ui);
  draw_canvas(ui);
  draw_top_bar(ui);
  draw_screens(ui);
  draw_press(ui);
  draw_point(ui);
  draw_dialogs(ui);
}

void App::look_close(const std::vector<Pane>& panes) {
  // Once the view stands still for a moment, sim draws what the loupe shows, with the light that spreads.
  if (!session_.is_open() || session_.playing() || panes.size() != 1 || panes[0].film) return;
  const View& v = panes[0].view;
  if (Renderer::loupe_weight(*session_.build(), v.px_per_mm) < 1) return;
  const std::vector<double> view{v.centre.x, v.centre.y, v.px_per_mm,
                                 static_cast<double>(session_.version())};
  const double now = ImGui::GetTime();
  if (view != still_view_) {
    still_view_ = view;
    still_since_ = now;
    return;
  }
  if (now - still_since_ < 0.25) return;
  const double w = panes[0].width / v.px_per_mm, h = panes[0].height / v.px_per_mm;
  session_.look_close({v.centre.x - w / 2, v.centre.y - h / 2}, w, h, v.px_per_mm * kMmPerInch);
}

bool App::draw(int width, int height, GLuint framebuffer, bool only_canvas) {
  const Area canvas = only_canvas ? Area{0, 0, static_cast<float>(width), static_cast<float>(height)}
                                  : layout(static_cast<float>(width), static_cast<float>(height)).canvas;
  const int w = static_cast<int>(canvas.width), h = static_cast<int>(canvas.height);
  const std::vector<Pane> panes = panes_of(session_, w, h);
  look_close(panes);
  return renderer_.draw(session_, panes, w, h, framebuffer, static_cast<int>(canvas.x),
                        height - static_cast<int>(canvas.y) - h);
}

}  // namespace kirtle
