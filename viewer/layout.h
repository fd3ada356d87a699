#pragma once
// Where things lie in the window: the shirt in the middle, screens round it in head order, the press below,
// the point beside. Pixels.
#include <algorithm>

namespace kirtle {

struct Area {
  float x = 0, y = 0, width = 0, height = 0;
  float right() const { return x + width; }
  float bottom() const { return y + height; }
  bool holds(float px, float py) const { return px >= x && py >= y && px < right() && py < bottom(); }
};

struct Layout {
  Area top, left, canvas, right, point, press;

  /// scale: of text, 1 at 96 dots per inch. Narrow windows give up the point's column, then one of the
  /// screens'.
  static Layout of(float width, float height, float scale) {
    Layout l;
    const float bar = 52 * scale, strip = 190 * scale, heads = 158 * scale;
    const float point = width > 1100 * scale ? 336 * scale : 0;
    const float middle = height - bar - strip;
    l.top = {0, 0, width, bar};
    l.left = {0, bar, heads, middle};
    l.point = {width - point, bar, point, height - bar};
    l.right = {width - point - heads, bar, heads, middle};
    l.canvas = {heads, bar, std::max(width - point - 2 * heads, 64.0F), std::max(middle, 64.0F)};
    l.press = {0, height - strip, width - point, strip};
    return l;
  }
};

}  // namespace kirtle
