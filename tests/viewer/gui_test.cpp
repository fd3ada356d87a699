// The window under real mouse and keys: X events through the XTEST extension, under Xvfb. Assertions read the
// session and the pixels.
#include "job/read_scene.h"
#include "viewer/view_scene.h"
#include "window.h"

#include <GLFW/glfw3.h>
#include <X11/extensions/XTest.h>
#include <X11/keysym.h>
#include <array>
#include <cmath>

// As in GLFW/glfw3native.h, which wants headers of more X extensions than are used here.
extern "C" {
Display* glfwGetX11Display();
unsigned long glfwGetX11Window(GLFWwindow* window);
}

namespace kirtle::test {
namespace {

struct Pixel {
  int r = 0, g = 0, b = 0;
};
int apart(Pixel a, Pixel b) { return std::abs(a.r - b.r) + std::abs(a.g - b.g) + std::abs(a.b - b.b); }

class GuiTest : public ::testing::Test {
 protected:
  void SetUp() override {
    if (std::getenv("DISPLAY") == nullptr) GTEST_SKIP() << "no X display; ctest runs this under xvfb-run";
    ViewerArguments a;
    a.scene = scene.file;
    a.width = 1500;
    a.height = 900;
    a.scale = 1;
    a.scale_given = true;
    window = std::make_unique<Window>(a, true);
    count_gl_errors(&gl_errors);
    x = glfwGetX11Display();
    frames(3);
    XSetInputFocus(x, glfwGetX11Window(window->glfw()), RevertToParent, CurrentTime);
    frames(3);
  }
  void TearDown() override {
    if (!window) return;
    EXPECT_EQ(gl_errors, 0);
    window.reset();
  }

  Session& session() { return window->session(); }
  void frames(int n) {
    for (int i = 0; i < n; ++i) {
      XSync(x != nullptr ? x : glfwGetX11Display(), False);
      window->frame(false);
    }
  }
  /// Until work beside the window is done and drawn.
  void settled() {
    session().settle();
    frames(24);
  }
  void mouse_to(float px, float py) {
    int wx = 0, wy = 0;
    glfwGetWindowPos(window->glfw(), &wx, &wy);
    XTestFakeMotionEvent(x, -1, wx + static_cast<int>(px), wy + static_cast<int>(py), CurrentTime);
    frames(2);
  }
  void button(unsigned which, bool down) {
    XTestFakeButtonEvent(x, which, down ? True : False, CurrentTime);
    frames(2);
  }
  void click(const Area& a) {
    mouse_to(a.x + a.width / 2, a.y + a.height / 2);
    button(1, true);
    button(1, false);
    frames(2);
  }
  void drag(float x0, float y0, float x1, float y1) {
    mouse_to(x0, y0);
    button(1, true);
    for (int i = 1; i <= 5; ++i)
      mouse_to(x0 + (x1 - x0) * static_cast<float>(i) / 5, y0 + (y1 - y0) * static_cast<float>(i) / 5);
    button(1, false);
    frames(2);
  }
  void key(KeySym symbol, std::initializer_list<KeySym> with = {}) {
    for (const KeySym k : with) XTestFakeKeyEvent(x, XKeysymToKeycode(x, k), True, CurrentTime);
    frames(1);
    XTestFakeKeyEvent(x, XKeysymToKeycode(x, symbol), True, CurrentTime);
    frames(2);
    XTestFakeKeyEvent(x, XKeysymToKeycode(x, symbol), False, CurrentTime);
    for (const KeySym k : with) XTestFakeKeyEvent(x, XKeysymToKeycode(x, k), False, CurrentTime);
    frames(3);
  }
  Area place(const std::string& name) {
    const auto& places = window->app().window().places;
    const auto it = places.find(name);
    EXPECT_NE(it, places.end()) << name;
    return it == places.end() ? Area{} : it->second;
  }
  Area canvas() {
    return window->app()
        .layout(static_cast<float>(window->width()), static_cast<float>(window->height()))
        .canvas;
  }
  /// Screen place of a place of the print.
  std::array<float, 2> screen(double mm_x, double mm_y) {
    const Area c = canvas();
    const View& v = session().view;
    return {
        static_cast<float>(std::floor(c.x) + std::floor(c.width) / 2 + (mm_x - v.centre.x) * v.px_per_mm),
        static_cast<float>(std::floor(c.y) + std::floor(c.height) / 2 + (mm_y - v.centre.y) * v.px_per_mm)};
  }
  Pixel pixel(double mm_x, double mm_y) {
    const auto at = screen(mm_x, mm_y);
    const std::vector<std::uint8_t>& p = window->grab();
    const std::size_t i = 3 * (static_cast<std::size_t>(at[1]) * static_cast<std::size_t>(window->width()) +
                               static_cast<std::size_t>(at[0]));
    return {p[i], p[i + 1], p[i + 2]};
  }

  static constexpr double kMm = 25.4 / 100;  // a plate pixel of the scene
  ViewScene scene;
  std::unique_ptr<Window> window;
  Display* x = nullptr;
  int gl_errors = 0;
};

TEST_F(GuiTest, TheWheelZoomsToDotsWhereThePointerIs) {
  settled();
  const double mm_x = 75 * kMm, mm_y = 45 * kMm;  // in the red tint
  const auto at = screen(mm_x, mm_y);
  mouse_to(at[0], at[1]);
  for (int i = 0; i < 40 && Renderer::loupe_weight(*session().build(), session().view.px_per_mm) < 1; ++i) {
    button(4, true);
    button(4, false);
  }
  EXPECT_GE(Renderer::loupe_weight(*session().build(), session().view.px_per_mm), 1);
  const auto after = screen(mm_x, mm_y);
  EXPECT_NEAR(after[0], at[0], 2);
  EXPECT_NEAR(after[1], at[1], 2);
  settled();
  // Real dots: two colours far apart within one period of 45 lines to the inch.
  int widest = 0;
  const Pixel here = pixel(mm_x, mm_y);
  for (int i = 1; i < 12; ++i) widest = std::max(widest, apart(here, pixel(mm_x + i * 25.4 / 45 / 12, mm_y)));
  EXPECT_GT(widest, 60);
}

TEST_F(GuiTest, OneScreenAlone) {
  settled();
  const Pixel both = pixel(35 * kMm, 45 * kMm);  // red on base
  click(place("only 1"));
  EXPECT_EQ(session().only(), 0);
  settled();
  const Pixel base = pixel(35 * kMm, 45 * kMm);
  EXPECT_GT(apart(both, base), 80);
  EXPECT_GT(base.g, both.g + 40);  // white, not red
  key(XK_2, {XK_Shift_L});
  EXPECT_EQ(session().only(), 1);
  key(XK_2, {XK_Shift_L});
  EXPECT_EQ(session().only(), -1);
  key(XK_1);
  EXPECT_EQ(session().head(0), Head::up);
}

TEST_F(GuiTest, RegisterIsDraggedAndUndone) {
  settled();
  key(XK_Tab);
  EXPECT_EQ(session().selected, 1);
  const double edge = (20 + 0.4) * kMm;  // just inside the red's left edge
  const Pixel before = pixel(edge, 45 * kMm);
  const Area pad = place("register");
  drag(pad.x + pad.width / 2, pad.y + pad.height / 2, pad.x + pad.width / 2 + 50, pad.y + pad.height / 2);
  const double moved = session().offsets()[1].dx.v;
  EXPECT_NEAR(moved, 50 * 1.2 / static_cast<double>(pad.width), 0.03);
  EXPECT_EQ(session().offsets()[1].dy.v, 0);
  settled();
  EXPECT_GT(apart(before, pixel(edge, 45 * kMm)), 60);  // the base shows there now
  key(XK_z, {XK_Control_L});
  EXPECT_EQ(session().offsets()[1].dx.v, 0);
  EXPECT_FALSE(session().can_undo());
  settled();
  EXPECT_LT(apart(before, pixel(edge, 45 * kMm)), 6);
}

TEST_F(GuiTest, ARunIsStartedAndStopped) {
  settled();
  window->app().window().run_shirts = 100000;
  click(place("order"));
  EXPECT_TRUE(session().run_busy());
  key(XK_Escape);
  settled();
  EXPECT_FALSE(session().run_busy());
  EXPECT_FALSE(session().run_result());
  window->app().window().run_shirts = 20;
  key(XK_r);
  settled();
  ASSERT_TRUE(session().run_result());
  EXPECT_EQ(session().run_result()->run.showing.shirts.size(), 20u);
}

TEST_F(GuiTest, TheLineIsDraggedAcross) {
  settled();
  key(XK_m);
  key(XK_m);
  ASSERT_EQ(session().mode, Mode::against);
  settled();
  const Area c = canvas();
  const Pixel print = pixel(35 * kMm, 45 * kMm);
  EXPECT_GT(print.r, print.g + 60);
  drag(c.x + c.width / 2, c.y + 60, c.x + c.width * 0.1F, c.y + 60);
  EXPECT_NEAR(session().line, 0.1, 0.02);
  settled();
  const Pixel film = pixel(35 * kMm, 45 * kMm);  // the base's film there: solid, black
  EXPECT_LT(film.r + film.g + film.b, 120);
}

TEST_F(GuiTest, AShirtIsSwappedSavedAndUndone) {
  settled();
  const Pixel black = pixel(117 * kMm, 86 * kMm);
  click(place("shirt navy-cotton"));
  EXPECT_EQ(session().scene().shirt.id, "navy-cotton");
  settled();
  EXPECT_GT(apart(black, pixel(117 * kMm, 86 * kMm)), 6);
  key(XK_s, {XK_Control_L});
  frames(5);
  key(XK_Return);
  frames(5);
  const std::filesystem::path saved = scene.folder.path() / "scene-2.toml";
  ASSERT_TRUE(std::filesystem::exists(saved));
  EXPECT_EQ(read_scene(saved).shirt.id, "navy-cotton");
  key(XK_z, {XK_Control_L});
  EXPECT_EQ(session().scene().shirt.id, "black-cotton");
  settled();
  EXPECT_LT(apart(black, pixel(117 * kMm, 86 * kMm)), 4);
}

TEST_F(GuiTest, ThePrintIsPannedAndRead) {
  settled();
  const Area c = canvas();
  const View before = session().view;
  drag(c.x + c.width / 2, c.y + c.height / 2, c.x + c.width / 2 + 60, c.y + c.height / 2 - 40);
  EXPECT_NEAR((before.centre.x - session().view.centre.x) * before.px_per_mm, 60, 2);
  EXPECT_NEAR((before.centre.y - session().view.centre.y) * before.px_per_mm, -40, 2);
  const auto at = screen(35 * kMm, 45 * kMm);
  mouse_to(at[0], at[1]);
  settled();
  ASSERT_TRUE(session().reading());
  EXPECT_NEAR(session().point()->x, 35 * kMm, 0.1);
  EXPECT_GT(session().reading()->lab.a, 20);
  key(XK_p);
  EXPECT_TRUE(session().pinned());
}

}  // namespace
}  // namespace kirtle::test
