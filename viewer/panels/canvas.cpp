// Over the print: the line, the scale, names of panes; and the mouse that pans, zooms and points.
#include "panels/panel.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

std::vector<Pane> panes_of(const Session& s, int width, int height) {
  std::vector<Pane> out;
  if (!s.is_open()) return out;
  const auto pane = [&](int x, int y, int w, int h) {
    Pane p;
    p.x = x;
    p.y = y;
    p.width = w;
    p.height = h;
    p.view = s.view;
    p.garment = true;
    return p;
  };
  constexpr int gap = 2;
  if (s.mode == Mode::plates) {
    const int n = static_cast<int>(s.plates());
    if (s.film_alone || n == 1) {
      out.push_back(pane(0, 0, width, height));
      out.back().film = true;
      out.back().plate = std::clamp(s.selected, 0, n - 1);
      return out;
    }
    int across = 1;
    while (across * across * height < n * width && across < n) ++across;
    const int down = (n + across - 1) / across;
    for (int i = 0; i < n; ++i) {
      const int c = i % across, r = i / across;
      const int x0 = c * width / across, x1 = (c + 1) * width / across, y0 = r * height / down,
                y1 = (r + 1) * height / down;
      out.push_back(pane(x0, y0, x1 - x0 - (c + 1 < across ? gap : 0), y1 - y0 - (r + 1 < down ? gap : 0)));
      out.back().film = true;
      out.back().plate = i;
      const double smaller =
          std::min(static_cast<double>(x1 - x0) / width, static_cast<double>(y1 - y0) / height);
      if (s.view.px_per_mm * s.build()->prediction->width_mm() < width * 1.2)
        out.back().view.px_per_mm *= smaller;
    }
    return out;
  }
  if (s.mode == Mode::against) {
    const int at = static_cast<int>(std::lround(std::clamp(s.line, 0.0, 1.0) * width));
    out.push_back(pane(0, 0, width, height));
    out.back().clip_right = std::max(at, 1);
    out.push_back(pane(0, 0, width, height));
    out.back().clip_left = at;
    out.back().clip_right = width;
    if (s.against == Against::plates) {
      out.back().film = true;
      out.back().plate = s.selected;
    } else {
      out.back().other = true;
    }
    return out;
  }
  const int n = 1 + static_cast<int>(s.lights_beside.size());
  for (int i = 0; i < n; ++i) {
    const int x0 = i * width / n, x1 = (i + 1) * width / n - (i + 1 < n ? gap : 0);
    out.push_back(pane(x0, 0, x1 - x0, height));
    if (i > 0) out.back().light = s.lights_beside[static_cast<std::size_t>(i) - 1];
    if (n > 1 && s.view.px_per_mm * s.build()->prediction->width_mm() < width * 1.2)
      out.back().view.px_per_mm /= n;
  }
  return out;
}

namespace {

void label(Ui& ui, ImDrawList* draw, float x, float y, const std::string& text, bool from_right = false) {
  ImFont* font = ui.look.small;
  const ImVec2 size = font->CalcTextSizeA(font->FontSize, 1e9F, 0, text.c_str());
  if (from_right) x -= size.x + ui.px(14);
  draw->AddRectFilled({x, y}, {x + size.x + ui.px(14), y + size.y + ui.px(6)}, grey(20, 190), ui.px(3));
  draw->AddText(font, font->FontSize, {x + ui.px(7), y + ui.px(3)}, kInkText, text.c_str());
}

/// A bar of a round length.
void scale_bar(Ui& ui, ImDrawList* draw, const Area& canvas) {
  const double per_mm = ui.session.view.px_per_mm;
  double mm = 0.01;
  for (const double step : {0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0}) {
    if (step * per_mm <= static_cast<double>(ui.px(190))) mm = step;
  }
  const float w = static_cast<float>(mm * per_mm), x = canvas.x + ui.px(14), y = canvas.bottom() - ui.px(16);
  draw->AddRectFilled({x - ui.px(6), y - ui.px(26)}, {x + std::max(w, ui.px(190)) + ui.px(6), y + ui.px(7)},
                      grey(20, 190), ui.px(3));
  draw->AddRectFilled({x, y - ui.px(3)}, {x + w, y}, kInkText);
  draw->AddLine({x, y - ui.px(7)}, {x, y}, kInkText, ui.px(1.5F));
  draw->AddLine({x + w, y - ui.px(7)}, {x + w, y}, kInkText, ui.px(1.5F));
  const double times = per_mm / ui.session.screen_px_per_mm;
  const double loupe = Renderer::loupe_weight(*ui.session.build(), per_mm);
  const std::string text =
      fmt::format("{:g} mm    {} {:.3g} : 1", mm, loupe > 0.5 ? "loupe" : "arm's length", times);
  draw->AddText(ui.look.small, ui.look.small->FontSize, {x, y - ui.px(22)}, kInkText, text.c_str());
}

std::string side_name(const Session& s) {
  if (s.against == Against::plates)
    return "film: " + printable(s.build()->plates()[static_cast<std::size_t>(s.selected)].name, 24);
  if (s.against == Against::file) return "the file as it was";
  return s.against_shirt;
}

void labels(Ui& ui, ImDrawList* draw, const Area& canvas, const std::vector<Pane>& panes) {
  const Session& s = ui.session;
  const float y = canvas.y + ui.px(10);
  if (s.mode == Mode::against) {
    const float x = canvas.x + static_cast<float>(s.line) * canvas.width;
    draw->AddLine({x, canvas.y}, {x, canvas.bottom()}, grey(245), ui.px(1.5F));
    const float m = canvas.y + 0.5F * canvas.height;
    draw->AddCircleFilled({x, m}, ui.px(13), grey(245), 32);
    for (const float side : {-1.0F, 1.0F}) {
      draw->AddTriangleFilled({x + side * ui.px(9), m}, {x + side * ui.px(4), m - ui.px(5)},
                              {x + side * ui.px(4), m + ui.px(5)}, grey(40));
    }
    label(ui, draw, x - ui.px(10), y, s.scene().shirt.id, true);
    label(ui, draw, x + ui.px(10), y,
          s.against != Against::plates && !s.other_build() ? side_name(s) + " ..." : side_name(s));
    return;
  }
  for (const Pane& p : panes) {
    const float x = canvas.x + static_cast<float>(p.x) + ui.px(12), top = y + static_cast<float>(p.y);
    if (p.film) {
      label(ui, draw, x, top,
            fmt::format("{}  {}", p.plate + 1,
                        printable(s.build()->plates()[static_cast<std::size_t>(p.plate)].name, 24)));
    } else if (panes.size() > 1) {
      label(ui, draw, x, top, p.light.empty() ? s.build()->scene->light : p.light);
    }
  }
  if (s.only() >= 0 && s.mode == Mode::print)
    label(
        ui, draw, canvas.x + ui.px(12), y + ui.px(26),
        fmt::format("only {}", printable(s.build()->plates()[static_cast<std::size_t>(s.only())].name, 24)));
}

/// Place of the print under the mouse, if it is over a print.
std::optional<PointMm> place_under(const std::vector<Pane>& panes, float x, float y) {
  for (const Pane& p : panes) {
    const int right = p.clip_right > 0 ? p.clip_right : p.width;
    if (x < static_cast<float>(p.x + p.clip_left) || x >= static_cast<float>(p.x + right) ||
        y < static_cast<float>(p.y) || y >= static_cast<float>(p.y + p.height))
      continue;
    return p.view.at(static_cast<double>(x) - p.x - 0.5 * p.width,
                     static_cast<double>(y) - p.y - 0.5 * p.height);
  }
  return std::nullopt;
}

void take_mouse(Ui& ui, const Area& canvas, const std::vector<Pane>& panes) {
  Session& s = ui.session;
  ImGuiIO& io = ImGui::GetIO();
  const float mx = io.MousePos.x - canvas.x, my = io.MousePos.y - canvas.y;
  const bool over = ImGui::IsItemHovered();
  const double dx = static_cast<double>(mx) - 0.5 * static_cast<double>(canvas.width),
               dy = static_cast<double>(my) - 0.5 * static_cast<double>(canvas.height);
  if (over && io.MouseWheel != 0) {
    s.view.zoom(std::pow(1.25, static_cast<double>(io.MouseWheel)), dx, dy);
    s.touch();
  }
  const float line = static_cast<float>(s.line) * canvas.width;
  const bool on_line = s.mode == Mode::against && std::abs(mx - line) < ui.px(12);
  if (over && on_line) ImGui::SetMouseCursor(ImGuiMouseCursor_ResizeEW);
  if (ImGui::IsItemActivated()) {
    ui.window.dragging_line = on_line;
    ui.window.panning = !on_line;
  }
  if (ImGui::IsItemActive() && (io.MouseDelta.x != 0 || io.MouseDelta.y != 0)) {
    if (ui.window.dragging_line) {
      s.line = std::clamp(static_cast<double>(mx / canvas.width), 0.0, 1.0);
    } else if (ui.window.panning) {
      s.view.pan(static_cast<double>(io.MouseDelta.x), static_cast<double>(io.MouseDelta.y));
    }
    s.touch();
  }
  if (over && !ImGui::IsItemActive()) s.point_at(place_under(panes, mx, my));
}

}  // namespace

void draw_canvas(Ui& ui) {
  const Area& canvas = ui.layout.canvas;
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, ImVec2{0, 0});
  begin_panel("##canvas", canvas, ui.look, IM_COL32(0, 0, 0, 0));
  ImGui::PopStyleVar();
  ImDrawList* draw = ImGui::GetWindowDrawList();
  Session& s = ui.session;
  if (!s.is_open()) {
    const char* lines[] = {s.predicting() ? "Opening..." : "Drop a scene here", "or press Ctrl+O",
                           "kirtle scene new drafts one from your plates"};
    float y = canvas.y + 0.42F * canvas.height;
    for (int i = 0; i < 3; ++i) {
      ImFont* font = i == 0 ? ui.look.large : ui.look.text;
      const ImVec2 size = font->CalcTextSizeA(font->FontSize, 1e9F, 0, lines[i]);
      draw->AddText(font, font->FontSize, {canvas.x + 0.5F * (canvas.width - size.x), y},
                    grey(i == 0 ? 250 : 215), lines[i]);
      y += size.y + ui.px(10);
    }
    end_panel();
    return;
  }
  const std::vector<Pane> panes =
      panes_of(s, static_cast<int>(canvas.width), static_cast<int>(canvas.height));
  ImGui::SetCursorScreenPos({canvas.x, canvas.y});
  ImGui::InvisibleButton("print", {canvas.width, canvas.height});
  take_mouse(ui, canvas, panes);
  labels(ui, draw, canvas, panes);
  scale_bar(ui, draw, canvas);
  if (!s.build()->lattice)
    label(ui, draw, canvas.x + ui.px(12), canvas.y + ui.px(12),
          "more plates than the graphics card mixes, or a fitted n: kirtle predict draws this scene");
  if (s.predicting())
    label(ui, draw, canvas.right() - ui.px(12), canvas.bottom() - ui.px(32),
          fmt::format("predicting {:.0f} %", 100 * s.predicting_share()), true);
  const auto on_panes = [&](const PointMm& at, const auto& mark) {
    for (const Pane& p : panes) {
      const float x =
          canvas.x + static_cast<float>(p.x + 0.5 * p.width + (at.x - p.view.centre.x) * p.view.px_per_mm);
      const float y =
          canvas.y + static_cast<float>(p.y + 0.5 * p.height + (at.y - p.view.centre.y) * p.view.px_per_mm);
      if (canvas.holds(x, y)) mark(x, y);
    }
  };
  if (s.pinned()) {
    on_panes(s.pinned()->at, [&](float x, float y) {
      draw->AddCircle({x, y}, ui.px(7), grey(20), 24, ui.px(3));
      draw->AddCircle({x, y}, ui.px(7), grey(250), 24, ui.px(1.5F));
    });
  }
  if (s.marked) {
    on_panes(*s.marked, [&](float x, float y) {
      const float r = ui.px(22), arm = ui.px(9);
      for (const auto& [colour, width] : {std::pair{grey(20), ui.px(4)}, std::pair{kAttention, ui.px(2)}}) {
        for (const float sx : {-1.0F, 1.0F}) {
          for (const float sy : {-1.0F, 1.0F}) {
            const ImVec2 corner[3] = {
                {x + sx * r, y + sy * (r - arm)}, {x + sx * r, y + sy * r}, {x + sx * (r - arm), y + sy * r}};
            draw->AddPolyline(corner, 3, colour, 0, width);
          }
        }
      }
    });
  }
  end_panel();
}

}  // namespace kirtle
