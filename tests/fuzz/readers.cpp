#include "fuzz/readers.h"

namespace kirtle::test {

const std::vector<Reader>& readers() {
  static const std::vector<Reader> all{{"scene", feed_scene}, {"print", feed_print}, {"order", feed_order},
                                       {"ink", feed_ink},     {"shirt", feed_shirt}, {"record", feed_record},
                                       {"png", feed_png},     {"tiff", feed_tiff},   {"art", feed_art},
                                       {"icc", feed_icc},     {"done", feed_done},   {"list", feed_list}};
  return all;
}

}  // namespace kirtle::test
