#pragma once
// What the graphics card holds of a build: plates as codes, the contracted table, tones; and the programs for
// it.
#include "build.h"
#include "gl.h"
#include "session.h"

#include <map>
#include <memory>
#include <string>
#include <vector>

namespace kirtle {

/// Plates' textures: an array, a layer a plate and tile, so that prints beyond the texture limit are cut in
/// tiles.
struct PlateTextures {
  std::vector<std::shared_ptr<const PlateCodes>> codes;
  GlTexture code, dose;
  int tile_width = 0, tile_height = 0, across = 1, down = 1;
};

/// The contracted table under one light.
struct MixTextures {
  std::shared_ptr<const PairLattice> lattice;
  std::string light;
  XYZ white;
  GlTexture values, levels;
  int rank = 0;  ///< of the shorter form; 0 = none, pairs one by one
  GlTexture states;
  GlBuffer form;
};

/// Programs for a print of so many films and fields.
struct PrintPrograms {
  GlProgram print, film, dose;
};

/// One plate of the uniform block, as std140 lays it out.
struct PlateBlock {
  float map[4], place[4], screen[4];
  std::int32_t what[4];
  std::uint32_t seed[4];
};
static_assert(sizeof(PlateBlock) == 80);

/// Where programs find their uniform blocks.
constexpr GLuint kPlatesBlock = 0, kFormBlock = 1;

class GpuPrints {
 public:
  GpuPrints();

  const PlateTextures& plates(const Build& build);
  const MixTextures& mix(const Build& build, const std::string& light);
  const GlTexture& tones(const std::shared_ptr<const Build>& build);
  /// rank: of the mix it is to be drawn with.
  const PrintPrograms& programs(const Build& build, int rank);
  const GlTexture& pyramid(const std::shared_ptr<const Pyramid>& pyramid);
  const GlTexture& loupe_picture(const std::shared_ptr<const LoupePicture>& picture);

  /// The uniform block of a build's plates where they land; prints(i) says whose head is down.
  std::vector<PlateBlock> blocks(const Build& build, const std::vector<RegisterOffset>& offsets,
                                 const std::vector<bool>& prints) const;
  /// Masks of dots of screens that are out of register: 32 words a film, a row a tone. Remade when offsets
  /// change.
  const GlTexture& masks(const Build& build, const std::vector<RegisterOffset>& offsets);

  int largest_texture() const { return largest_; }

 private:
  int largest_ = 0, layers_ = 0;
  std::vector<std::unique_ptr<PlateTextures>> plates_;
  std::vector<std::unique_ptr<MixTextures>> mixes_;
  std::map<std::string, PrintPrograms> programs_;
  std::vector<std::pair<std::shared_ptr<const Build>, GlTexture>> tones_;
  std::pair<std::shared_ptr<const Pyramid>, GlTexture> pyramid_;
  std::pair<std::shared_ptr<const LoupePicture>, GlTexture> close_;
  std::vector<double> mask_key_;
  GlTexture mask_;
};

/// Texts of viewer/shaders and of sim/screen/threshold.inl, put into the program when it is built.
const char* shader_text(const std::string& name);

}  // namespace kirtle
