#include "panels/panel.h"
#include "predict/swatch.h"

#include <algorithm>

namespace kirtle {

void begin_panel(const char* name, const Area& area, const Look& look, ImU32 colour) {
  ImGui::SetNextWindowPos({area.x, area.y});
  ImGui::SetNextWindowSize({area.width, area.height});
  ImGui::PushStyleColor(ImGuiCol_WindowBg, colour);
  ImGui::Begin(name, nullptr,
               ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoSavedSettings |
                   ImGuiWindowFlags_NoBringToFrontOnFocus);
  ImGui::PopStyleColor();
  ImGui::PushFont(look.text);
}

void end_panel() {
  ImGui::PopFont();
  ImGui::End();
}

void tip(const char* text) {
  if (ImGui::IsItemHovered()) ImGui::SetTooltip("%s", text);
}

bool chip(const char* label, bool on, const Look& look, float width) {
  ImGui::PushStyleColor(ImGuiCol_Button,
                        on ? ImGui::GetColorU32(grey(226)) : ImGui::GetColorU32(ImGuiCol_Button));
  ImGui::PushStyleColor(ImGuiCol_ButtonHovered, on ? grey(240) : ImGui::GetColorU32(ImGuiCol_ButtonHovered));
  ImGui::PushStyleColor(ImGuiCol_Text, on ? grey(20) : kInkText);
  const bool pressed = ImGui::Button(label, {width * look.scale, 0});
  ImGui::PopStyleColor(3);
  return pressed;
}

void note_place(Ui& ui, const std::string& name) {
  const ImVec2 a = ImGui::GetItemRectMin(), b = ImGui::GetItemRectMax();
  ui.window.places[name] = {a.x, a.y, b.x - a.x, b.y - a.y};
}

void heading(const char* text, const Look& look) {
  ImGui::PushFont(look.strong);
  ImGui::TextUnformatted(text);
  ImGui::PopFont();
}

void quiet(const char* text, const Look& look) {
  ImGui::PushFont(look.small);
  ImGui::PushStyleColor(ImGuiCol_Text, kQuietText);
  ImGui::TextUnformatted(text);
  ImGui::PopStyleColor();
  ImGui::PopFont();
}

std::string cut_to(const ImFont* font, const std::string& text, float width) {
  const auto wide = [&](const std::string& t) {
    return font->CalcTextSizeA(font->FontSize, 1e9F, 0, t.c_str()).x;
  };
  if (wide(text) <= width) return text;
  std::string cut = text;
  while (!cut.empty() && wide(cut + "\u2026") > width) {
    do cut.pop_back();
    while (!cut.empty() && (static_cast<unsigned char>(cut.back()) & 0xC0u) == 0x80u);
  }
  return cut + "\u2026";
}

ImU32 colour_of(const Rgb8& c) { return IM_COL32(c[0], c[1], c[2], 255); }

ImU32 shirt_colour(Ui& ui, const std::string& id) {
  const auto known = ui.window.shirt_colours.find(id);
  if (known != ui.window.shirt_colours.end()) return known->second;
  ImU32 colour = grey(128);
  Diagnostics faults;
  if (const Cloth* shirt = ui.session.library().shirt(id, {}, faults)) {
    if (const auto rgb = rgb8_from_hex(shirt_swatch(*shirt).bare_hex)) colour = colour_of(*rgb);
  }
  return ui.window.shirt_colours[id] = colour;
}

void refresh_thumbnails(Ui& ui) {
  const std::shared_ptr<const Build>& build = ui.session.build();
  if (ui.window.thumbnails_of == build) return;
  ui.window.thumbnails_of = build;
  ui.window.thumbnails.clear();
  ui.window.ink_colours.clear();
  const OverprintTable& table = build->prediction->model().table;
  const XYZ& white = table.weights().white;
  const std::size_t n = build->plates().size();
  std::vector<double> cover(n, 0.0);
  ui.window.shirt_colour = colour_of(srgb_codes8(srgb_from_xyz(table.mix(cover), white).linear));
  for (std::size_t i = 0; i < n; ++i) {
    std::fill(cover.begin(), cover.end(), 0.0);
    cover[i] = 1;
    const Rgb8 ink = srgb_codes8(srgb_from_xyz(table.mix(cover), white).linear);
    ui.window.ink_colours.push_back(colour_of(ink));
    // The plate's film at one sample in so many, in its ink.
    const PlateCodes& codes = *build->codes[i];
    constexpr int kAcross = 220;
    const int step = std::max(1, codes.width / kAcross), w = codes.width / step, h = codes.height / step;
    std::vector<std::uint8_t> rgba;
    rgba.reserve(static_cast<std::size_t>(w) * static_cast<std::size_t>(h) * 4);
    for (int y = 0; y < h; ++y) {
      for (int x = 0; x < w; ++x) {
        double film = 0;
        for (int k = 0; k < 4; ++k) {
          const int px = std::min(x * step + (k & 1) * step / 2, codes.width - 1),
                    py = std::min(y * step + (k >> 1) * step / 2, codes.height - 1);
          film +=
              decode(codes, codes.code[static_cast<std::size_t>(py) * static_cast<std::size_t>(codes.width) +
                                       static_cast<std::size_t>(px)])
                  .film /
              4;
        }
        rgba.insert(rgba.end(), {ink[0], ink[1], ink[2], static_cast<std::uint8_t>(255 * film)});
      }
    }
    GlTexture texture(GL_TEXTURE_2D, GL_LINEAR);
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA8, w, h, 0, GL_RGBA, GL_UNSIGNED_BYTE, rgba.data());
    ui.window.thumbnails.push_back(std::move(texture));
  }
}

}  // namespace kirtle
