# Sourced by scenes/demo.sh and tests/run.sh: installs what is missing, on Debian 12 and its kin.
# need PACKAGE...   installs those that are not there, with apt, through sudo when not root.
need() {
  local missing=() package
  for package in "$@"; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q "ok installed" || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  echo "installing: ${missing[*]}"
  local as_root=()
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null || { echo "error: these packages are missing and there is no sudo: ${missing[*]}" >&2; return 1; }
    as_root=(sudo)
  fi
  "${as_root[@]}" apt-get update -q >/dev/null
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "${missing[@]}" >/dev/null
}

build_packages=(g++ cmake ninja-build pkg-config zlib1g-dev libpng-dev libtiff-dev liblcms2-dev libfmt-dev
                libtomlplusplus-dev nlohmann-json3-dev libcli11-dev
                libcairo2-dev libpango1.0-dev libqpdf-dev libjpeg-dev fonts-noto-core fonts-droid-fallback fonts-nanum)
# kirtle-view, and what its tests draw with: software OpenGL, an X server without a screen, mouse and keys made by XTEST.
viewer_packages=(libeigen3-dev libglfw3-dev libimgui-dev libstb-dev libepoxy-dev libegl-dev libfreetype-dev fonts-inter)
viewer_test_packages=(libgl1-mesa-dri libegl1 libx11-dev libxtst-dev xvfb xauth)
# The HTML proof is opened in these by its test, and by nothing else.
browser_packages=(chromium chromium-driver python3 python3-selenium)
