#include "look.h"

#include <imgui_freetype.h>

namespace kirtle {

namespace {

struct Face {
  const char* text;
  const char* strong;
};

constexpr Face kFaces[] = {
    {"/usr/share/fonts/opentype/inter/Inter-Regular.otf",
     "/usr/share/fonts/opentype/inter/Inter-SemiBold.otf"},
    {"/usr/share/fonts/truetype/noto/NotoSans-Regular.ttf",
     "/usr/share/fonts/truetype/noto/NotoSans-Bold.ttf"},
    {"/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf",
     "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf"},
};

const Face* face() {
  for (const Face& f : kFaces) {
    std::error_code code;
    if (std::filesystem::exists(f.text, code) && std::filesystem::exists(f.strong, code)) return &f;
  }
  return nullptr;
}

constexpr ImWchar kLetters[] = {0x20,   0x17F,  0x2010, 0x2027, 0x2190, 0x2199,
                                0x2206, 0x2206, 0x2212, 0x2212, 0};

ImVec4 shade(float v, float alpha = 1) { return {v, v, v, alpha}; }

}  // namespace

std::filesystem::path text_font_file() { return face() != nullptr ? face()->text : ""; }

Look set_look(float scale) {
  ImGuiIO& io = ImGui::GetIO();
  io.IniFilename = nullptr;
  io.Fonts->Clear();
  io.Fonts->FontBuilderIO = ImGuiFreeType::GetBuilderForFreeType();
  Look look;
  look.scale = scale;
  if (const Face* f = face()) {
    const auto add = [&](const char* file, float px) {
      return io.Fonts->AddFontFromFileTTF(file, px * scale, nullptr, kLetters);
    };
    look.text = add(f->text, 15);
    look.small = add(f->text, 12.5F);
    look.strong = add(f->strong, 15);
    look.large = add(f->strong, 21);
  } else {
    ImFontConfig config;
    config.SizePixels = 13 * scale;
    look.text = look.small = look.strong = look.large = io.Fonts->AddFontDefault(&config);
  }
  ImGuiStyle style;
  style.WindowPadding = {12, 10};
  style.FramePadding = {8, 4};
  style.ItemSpacing = {8, 6};
  style.FrameRounding = 3;
  style.GrabRounding = 3;
  style.PopupRounding = 4;
  style.WindowRounding = 0;
  style.WindowBorderSize = 0;
  style.ScrollbarSize = 10;
  style.ScaleAllSizes(scale);
  ImVec4* c = style.Colors;
  c[ImGuiCol_Text] = shade(0.925F);
  c[ImGuiCol_TextDisabled] = shade(0.6F);
  c[ImGuiCol_WindowBg] = shade(0.17F);
  c[ImGuiCol_ChildBg] = shade(0, 0);
  c[ImGuiCol_PopupBg] = shade(0.14F, 0.98F);
  c[ImGuiCol_Border] = shade(0.32F);
  c[ImGuiCol_FrameBg] = shade(0.24F);
  c[ImGuiCol_FrameBgHovered] = shade(0.3F);
  c[ImGuiCol_FrameBgActive] = shade(0.35F);
  c[ImGuiCol_TitleBg] = c[ImGuiCol_TitleBgActive] = shade(0.14F);
  c[ImGuiCol_Button] = shade(0.26F);
  c[ImGuiCol_ButtonHovered] = shade(0.34F);
  c[ImGuiCol_ButtonActive] = shade(0.42F);
  c[ImGuiCol_Header] = shade(0.3F);
  c[ImGuiCol_HeaderHovered] = shade(0.36F);
  c[ImGuiCol_HeaderActive] = shade(0.42F);
  c[ImGuiCol_SliderGrab] = shade(0.72F);
  c[ImGuiCol_SliderGrabActive] = shade(0.95F);
  c[ImGuiCol_CheckMark] = shade(0.95F);
  c[ImGuiCol_ScrollbarBg] = shade(0.14F);
  c[ImGuiCol_ScrollbarGrab] = shade(0.36F);
  c[ImGuiCol_ScrollbarGrabHovered] = shade(0.46F);
  c[ImGuiCol_ScrollbarGrabActive] = shade(0.56F);
  c[ImGuiCol_PlotHistogram] = shade(0.78F);
  c[ImGuiCol_NavHighlight] = shade(0.95F);
  c[ImGuiCol_Separator] = shade(0.3F);
  c[ImGuiCol_TextSelectedBg] = shade(0.5F, 0.6F);
  ImGui::GetStyle() = style;
  return look;
}

}  // namespace kirtle
