// What lies under the pointer: colour, the stack as a drawing to scale, reflectance, wet load.
#include "light/delta_e_2000.h"
#include "panels/panel.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace kirtle {

namespace {

void draw_section(Ui& ui, float height) {
  const Section& section = ui.session.section();
  ImDrawList* draw = ImGui::GetWindowDrawList();
  const ImVec2 at = ImGui::GetCursorScreenPos();
  const float whole = ImGui::GetContentRegionAvail().x, label = ui.px(46), side = ui.px(74);
  const float x0 = at.x + label, x1 = at.x + whole - side, y0 = at.y + ui.px(6),
              y1 = at.y + height - ui.px(14);
  const double above = std::max(section.build_um * 1.12, 18.0), total = above + section.cloth_um;
  const float per_um = static_cast<float>((y1 - y0) / total);
  const float face = y0 + static_cast<float>(above) * per_um;
  draw->AddRectFilled({x0, y0}, {x1, face}, grey(52));
  for (const SectionColumn& c : section.columns) {
    const float left = x0 + static_cast<float>(c.left) * (x1 - x0),
                right = x0 + static_cast<float>(c.right) * (x1 - x0);
    for (const SectionBand& b : c.bands) {
      const float top = face + static_cast<float>(b.top_um) * per_um,
                  bottom = face + static_cast<float>(b.bottom_um) * per_um;
      draw->AddRectFilled({left, top}, {right, std::max(bottom, top + 1)}, colour_of(b.colour));
    }
  }
  draw->AddLine({x0, face}, {x1, face}, grey(230, 120), ui.px(1));
  const auto mark = [&](double um, const char* text) {
    const float y = face + static_cast<float>(um) * per_um;
    const ImVec2 size = ui.look.small->CalcTextSizeA(ui.look.small->FontSize, 1e9F, 0, text);
    draw->AddLine({x0 - ui.px(4), y}, {x0, y}, kQuietText, ui.px(1));
    draw->AddText(ui.look.small, ui.look.small->FontSize, {x0 - size.x - ui.px(7), y - 0.5F * size.y},
                  kQuietText, text);
  };
  if (section.build_um * static_cast<double>(per_um) > static_cast<double>(ui.px(13)))
    mark(-section.build_um, fmt::format("{:.0f} um", section.build_um).c_str());
  if (section.build_um > 0.5 &&
      section.build_um * static_cast<double>(per_um) <= static_cast<double>(ui.px(13))) {
    mark(0, fmt::format("{:.0f} um", section.build_um).c_str());
  } else {
    mark(0, "face");
  }
  mark(section.cloth_um / 2, fmt::format("{:.0f}", section.cloth_um / 2).c_str());
  mark(section.cloth_um, fmt::format("{:.0f}", section.cloth_um).c_str());
  // Down the ply: how much of the dye is left, and how much of the cloth is ink.
  const float c0 = x1 + ui.px(12), c1 = at.x + whole;
  draw->AddRectFilled({c0, face}, {c1, y1}, grey(52));
  for (std::size_t i = 0; i + 1 < section.depth_um.size(); ++i) {
    const float ya = face + static_cast<float>(section.depth_um[i]) * per_um,
                yb = face + static_cast<float>(section.depth_um[i + 1]) * per_um;
    const auto line = [&](const std::vector<double>& v, ImU32 colour, double scale) {
      draw->AddLine({c0 + static_cast<float>(0.93 * std::min(1.0, v[i] * scale)) * (c1 - c0), ya},
                    {c0 + static_cast<float>(0.93 * std::min(1.0, v[i + 1] * scale)) * (c1 - c0), yb}, colour,
                    ui.px(1.5F));
    };
    if (section.has_dye) line(section.dye_left, grey(240), 1);
    line(section.ink_share, kAttention, 4);
  }
  draw->AddText(ui.look.small, ui.look.small->FontSize, {c0, face - ui.px(32)}, grey(240),
                section.has_dye ? "dye left" : "no dye");
  draw->AddText(ui.look.small, ui.look.small->FontSize, {c0, face - ui.px(17)}, kAttention, "ink, x 4");
  ImGui::Dummy({whole, height});
  if (ImGui::IsItemHovered()) {
    ImGui::SetTooltip(
        "cross-section to scale, um: films above the face, cloth below.\nwhite: share of dye left, 0 to 100 "
        "%%; orange: share of the cloth's volume that is ink, 0 to 25 %%");
  }
}

void draw_curve(Ui& ui, float height) {
  ImDrawList* draw = ImGui::GetWindowDrawList();
  const ImVec2 at = ImGui::GetCursorScreenPos();
  const float w = ImGui::GetContentRegionAvail().x, h = height - ui.px(16);
  draw->AddRectFilled(at, {at.x + w, at.y + h}, grey(34), ui.px(3));
  for (int i = 1; i < 4; ++i)
    draw->AddLine({at.x, at.y + h * static_cast<float>(i) / 4},
                  {at.x + w, at.y + h * static_cast<float>(i) / 4}, grey(60));
  const auto curve = [&](const Spectrum& r, ImU32 colour, float width) {
    ImVec2 p[kBands];
    for (std::size_t b = 0; b < kBands; ++b)
      p[b] = {at.x + w * static_cast<float>(b) / (kBands - 1),
              at.y + h * (1 - static_cast<float>(std::clamp(r[b], 0.0, 1.0)))};
    draw->AddPolyline(p, kBands, colour, 0, width);
  };
  if (ui.session.pinned()) curve(ui.session.pinned()->reflectance, grey(130), ui.px(1.5F));
  curve(ui.session.reading()->reflectance, grey(245), ui.px(2));
  const char* names[] = {"380", "500", "620", "730 nm"};
  const float xs[] = {0, 120.0F / 350, 240.0F / 350, 1};
  for (int i = 0; i < 4; ++i) {
    const ImVec2 size = ui.look.small->CalcTextSizeA(ui.look.small->FontSize, 1e9F, 0, names[i]);
    draw->AddText(ui.look.small, ui.look.small->FontSize,
                  {at.x + w * xs[i] -
                       (i == 3  ? size.x
                        : i > 0 ? size.x / 2
                                : 0),
                   at.y + h + ui.px(1)},
                  kQuietText, names[i]);
  }
  draw->AddText(ui.look.small, ui.look.small->FontSize, {at.x + ui.px(4), at.y + ui.px(2)}, kQuietText,
                "100 %");
  ImGui::Dummy({w, height});
  tip("share of light given back, by wavelength; grey: the pinned point");
}

void numbers(Ui& ui) {
  const PointReading& r = *ui.session.reading();
  ImDrawList* draw = ImGui::GetWindowDrawList();
  const ImVec2 at = ImGui::GetCursorScreenPos();
  const float box = ui.px(58);
  draw->AddRectFilled(at, {at.x + box, at.y + box}, colour_of(srgb_codes8(r.srgb.linear)), ui.px(3));
  draw->AddRect(at, {at.x + box, at.y + box}, grey(100), ui.px(3));
  if (const auto& pinned = ui.session.pinned()) {
    if (const auto rgb = rgb8_from_hex(pinned->hex))
      draw->AddRectFilled({at.x + box / 2, at.y}, {at.x + box, at.y + box}, colour_of(*rgb), ui.px(3),
                          ImDrawFlags_RoundCornersRight);
  }
  ImGui::SetCursorScreenPos({at.x + box + ui.px(12), at.y});
  ImGui::BeginGroup();
  ImGui::PushFont(ui.look.strong);
  ImGui::Text("L* %.1f   a* %.1f   b* %.1f", r.lab.l, r.lab.a, r.lab.b);
  ImGui::PopFont();
  ImGui::Text("%s%s", r.hex.c_str(), r.srgb.clipped ? "  (outside sRGB)" : "");
  if (const auto& pinned = ui.session.pinned()) {
    ImGui::Text("dE00 %.2f to the pinned point", delta_e_2000(r.lab, pinned->lab));
  } else {
    quiet("P pins this point to compare with", ui.look);
  }
  ImGui::EndGroup();
  ImGui::SetCursorScreenPos({at.x, at.y + box + ui.px(8)});
}

void plates(Ui& ui) {
  const PointReading& r = *ui.session.reading();
  ImGui::PushFont(ui.look.small);
  if (ImGui::BeginTable("plates", 3, ImGuiTableFlags_SizingStretchProp)) {
    for (std::size_t i = 0; i < r.plates.size(); ++i) {
      const PlateReading& p = r.plates[i];
      ImGui::TableNextRow();
      ImGui::TableNextColumn();
      const ImVec2 c = ImGui::GetCursorScreenPos();
      if (i < ui.window.ink_colours.size())
        ImGui::GetWindowDrawList()->AddCircleFilled({c.x + ui.px(5), c.y + ui.px(8)}, ui.px(4.5F),
                                                    ui.window.ink_colours[i]);
      ImGui::Text("    %s", printable(p.plate, 16).c_str());
      ImGui::TableNextColumn();
      ImGui::Text("film %.0f %%", 100 * p.film);
      ImGui::TableNextColumn();
      ImGui::Text(p.field ? "dose %.0f %%" : "prints %.0f %%", 100 * p.printed);
    }
    ImGui::EndTable();
  }
  ImGui::PopFont();
}

}  // namespace

void draw_point(Ui& ui) {
  if (ui.layout.point.width <= 0) return;
  begin_panel("##point", ui.layout.point, ui.look);
  const Session& s = ui.session;
  if (!s.is_open()) {
    end_panel();
    return;
  }
  heading("At the point", ui.look);
  if (s.point()) {
    ImGui::SameLine();
    quiet(fmt::format("{:.1f}, {:.1f} mm from the top left", s.point()->x, s.point()->y).c_str(), ui.look);
  }
  if (!s.reading()) {
    quiet("Move over the print to read colour, stack and ink.", ui.look);
  } else {
    const PointReading& r = *s.reading();
    numbers(ui);
    if (r.not_predicted)
      ImGui::TextColored(ImGui::ColorConvertU32ToFloat4(kAttention), "not predicted: an ink drawn flat");
    plates(ui);
    heading("The stack", ui.look);
    const float room = ui.layout.point.bottom() - ImGui::GetCursorScreenPos().y - ui.px(190);
    draw_section(ui, std::clamp(room * 0.64F, ui.px(150), ui.px(420)));
    ImGui::PushFont(ui.look.small);
    ImGui::Text("wet load %.0f cm3/m2    ink build %.1f um", r.wet_load_cm3_m2, r.ink_build_um);
    ImGui::Text("in the cloth %.1f um dry%s", r.soaked_um,
                r.agent_g_m2 > 0 ? fmt::format("    agent {:.1f} g/m2", r.agent_g_m2).c_str() : "");
    ImGui::PopFont();
    heading("Reflectance", ui.look);
    draw_curve(ui, std::clamp(room * 0.36F, ui.px(80), ui.px(240)));
    for (const std::string& line : r.provenance) {
      if (line.find("invented") == std::string::npos && line.find("estimated") == std::string::npos) continue;
      quiet("Some records here are invented or estimated:", ui.look);
      std::string all;
      for (const std::string& l : r.provenance) all += l + "\n";
      tip(all.c_str());
      quiet("a colour is then good to dE00 4 to 6 at best.", ui.look);
      break;
    }
  }
  const float bottom = ui.layout.point.bottom() - ui.px(38);
  if (ImGui::GetCursorScreenPos().y < bottom)
    ImGui::SetCursorScreenPos({ui.layout.point.x + ui.px(12), bottom});
  if (const DisplayTable* table = ui.renderer.display_table()) {
    quiet(fmt::format("Screen: {}, table within dE00 {:.2f} (mean {:.3f})", table->space, table->largest_de00,
                      table->mean_de00)
              .c_str(),
          ui.look);
  }
  quiet(fmt::format("Drawn by {}", printable(ui.window.driver, 44)).c_str(), ui.look);
  end_panel();
}

}  // namespace kirtle
