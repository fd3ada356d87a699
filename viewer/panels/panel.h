#pragma once
// What every panel gets, and the small things that panels are drawn with. A panel reads the session and calls
// its commands; it keeps nothing that the session should know.
#include "gl.h"
#include "layout.h"
#include "look.h"
#include "renderer.h"
#include "session.h"

#include <map>
#include <string>
#include <vector>

namespace kirtle {

/// What only the window needs to know.
struct WindowState {
  bool show_help = false, show_messages = false, asks_open = false, asks_save = false, asks_export = false;
  bool show_calibration = false;
  char path[1024] = {};
  std::vector<GlTexture> thumbnails;
  std::vector<ImU32> ink_colours;
  std::shared_ptr<const Build> thumbnails_of;
  std::map<std::string, ImU32> shirt_colours;
  ImU32 shirt_colour = 0;
  int run_shirts = 144;
  bool shows_findings = false;  ///< the last column: findings about the plates, not the order
  std::string driver;
  bool software = false;
  bool dragging_line = false, panning = false;
  std::map<std::string, Area>
      places;  ///< where things were drawn last: "only 2", "register"; for tests of the mouse
};

struct Ui {
  Session& session;
  const Renderer& renderer;
  const Layout& layout;
  const Look& look;
  WindowState& window;
  float px(float v) const { return v * look.scale; }
};

void draw_top_bar(Ui& ui);
void draw_screens(Ui& ui);  ///< both columns of heads
void draw_point(Ui& ui);    ///< what lies under the pointer
void draw_press(Ui& ui);    ///< register, shirts, the run; and the chosen screen
void draw_canvas(Ui& ui);   ///< what lies over the print: line, scale, labels; and the mouse in it
void draw_dialogs(Ui& ui);  ///< open, save, help, messages
void take_keys(Ui& ui);

/// The panes of the canvas, pixels from its top left corner.
std::vector<Pane> panes_of(const Session& session, int width, int height);

// Small things.
void begin_panel(const char* name, const Area& area, const Look& look, ImU32 colour = kPanel);
void end_panel();
void tip(const char* text);
/// A button that stays down. True when pressed.
bool chip(const char* label, bool on, const Look& look, float width = 0);
/// Notes where the last item lies.
void note_place(Ui& ui, const std::string& name);
void heading(const char* text, const Look& look);
void quiet(const char* text, const Look& look);
/// Cut with an ellipsis to fit a width.
std::string cut_to(const ImFont* font, const std::string& text, float width);
ImU32 colour_of(const Rgb8& c);
ImU32 shirt_colour(Ui& ui, const std::string& id);
void refresh_thumbnails(Ui& ui);

}  // namespace kirtle
