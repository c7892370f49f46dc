"""A file that is no whole clip gives a clear message that names it, opens nothing else and prints nothing."""

import os
import shutil
import socket
import subprocess
import zipfile
from pathlib import Path

import numpy as np
import psutil
import pytest
from clips import FORMATS, as_nobody, copied_into, draw, tool

from edgestore.checks import InputError
from edgestore.inputs.clip import read_clip
from edgestore.inputs.packets import ClipFile, Packets

KEY = ["-encryption_key", "0123456789abcdef" * 2, "-encryption_kid", "fedcba9876543210" * 2]

on_posix = pytest.mark.skipif(os.name == "nt", reason="rights, pipes and such names are of POSIX systems")


@pytest.fixture(scope="module")
def clips(tmp_path_factory) -> dict[str, Path]:
    """Draw a clip of 8 s in each file format."""
    folder = tmp_path_factory.mktemp("faults")
    return {
        form: draw(folder / f"{form.replace(' ', '_')}{suffix}", seconds=8, crf=20, file_options=dict(options))
        for form, (suffix, options) in FORMATS.items()
    }


@pytest.fixture(autouse=True)
def _nothing_is_printed(capfd):
    yield
    assert capfd.readouterr() == ("", "")


def refused(path: Path, content: bytes | None = None) -> str:
    """Give the one message with which a file is refused."""
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        read_clip(path)
    (fault,) = caught.value.faults
    assert fault.where == str(path)
    assert fault.allowed
    return str(fault)


@pytest.mark.parametrize("name", ["gate.mp4", "gate.mkv", "gate.ts", "gate.avi", "gate.h264", "gate"])
@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "found an empty file"),
        (bytes(100_000), "found zeros where a clip begins"),
        (b"hello, no clip at all\n" * 200, "found no video that can be read"),
        (np.random.default_rng(1).bytes(200_000), r"the file seems to be encrypted, packed or damaged"),
        (b"\xff\xd8\xff", "found no"),
    ],
    ids=["empty", "zeros", "text", "random", "three bytes"],
)
def test_what_is_no_clip_is_refused_whatever_its_name(name, content, told, tmp_path):
    assert told in refused(tmp_path / name, content)


@pytest.mark.parametrize("seed", range(20))
def test_no_random_bytes_are_taken_for_a_clip(seed, tmp_path):
    assert "the file seems to be encrypted" in refused(tmp_path / "x.ts", np.random.default_rng(seed).bytes(70_000))


def test_a_picture_is_refused(tmp_path, clips):
    for name in ("still.png", "still.jpg"):
        words = ["-v", "error", "-i", clips["mp4"], "-frames:v", "1", "-update", "1", tmp_path / name]
        subprocess.run([tool("ffmpeg"), *words], check=True, stdin=subprocess.DEVNULL)
        refused(tmp_path / name)
        shutil.copy(tmp_path / name, tmp_path / "renamed.mp4")
        refused(tmp_path / "renamed.mp4")


def test_a_row_of_pictures_without_any_time_is_refused(tmp_path, clips):
    words = ["-v", "error", "-i", clips["mp4"], "-c:v", "mjpeg", "-pix_fmt", "yuvj420p", tmp_path / "row.mjpeg"]
    subprocess.run([tool("ffmpeg"), *words], check=True, stdin=subprocess.DEVNULL)
    refused(tmp_path / "row.mjpeg")


def test_a_packed_clip_is_refused(tmp_path, clips):
    with zipfile.ZipFile(tmp_path / "clips.zip", "w") as packed:
        packed.write(clips["mkv"])
    refused(tmp_path / "clips.zip")


def test_sound_without_video_is_refused(tmp_path):
    path = draw(tmp_path / "both.mp4", audio=True)
    words = ["-v", "error", "-i", path, "-map", "0:a", "-c", "copy", tmp_path / "sound.mp4"]
    subprocess.run([tool("ffmpeg"), *words], check=True, stdin=subprocess.DEVNULL)
    assert "without a video stream" in refused(tmp_path / "sound.mp4")


def test_a_single_picture_is_refused(tmp_path):
    message = refused(draw(tmp_path / "one.mp4", seconds=0.1))
    assert "found one picture; allowed: pictures over some seconds. Fix: Export a longer clip." in message


@on_posix
def test_a_missing_file_a_folder_and_a_pipe_are_refused(tmp_path):
    os.mkfifo(tmp_path / "pipe.mp4")
    assert "found no such file" in refused(tmp_path / "none.mp4")
    assert "found a folder" in refused(tmp_path)
    assert "found a pipe or device" in refused(tmp_path / "pipe.mp4")


@on_posix
def test_a_link_to_itself_is_refused(tmp_path):
    (tmp_path / "loop.mp4").symlink_to(tmp_path / "loop.mp4")
    assert "found no such file" in refused(tmp_path / "loop.mp4")


@on_posix
def test_a_file_that_may_not_be_read_is_refused(tmp_path, clips):
    path, inner = tmp_path / "locked.mp4", tmp_path / "listed" / "inner.mp4"
    inner.parent.mkdir()
    for copy in (path, inner):
        shutil.copy(clips["mp4"], copy)
    path.chmod(0)
    inner.parent.chmod(0o444)  # the folder may be listed, but its files may not be reached
    with as_nobody(tmp_path):
        assert "found no permission to use it" in refused(path)
        assert "found no permission to use it" in refused(inner)
    inner.parent.chmod(0o755)


def test_an_mp4_without_its_index_was_never_closed(tmp_path, clips):
    whole = clips["mp4"].read_bytes()
    for part in (0.3, 0.6, 0.9):
        message = refused(tmp_path / "cut.mp4", whole[: int(part * whole.index(b"moov"))])
        assert "an MP4 or MOV file without its index (moov): cut short, or never closed" in message


@pytest.mark.parametrize("form", ["mov", "fragmented mp4", "mkv", "avi", "ts"])
@pytest.mark.parametrize("part", [0.5, 0.8, 0.97])
def test_a_cut_file_is_refused_or_says_that_it_is_cut_short(form, part, tmp_path, clips):
    whole = clips[form].read_bytes()
    path = tmp_path / clips[form].name
    end = int(part * len(whole))
    path.write_bytes(whole[: end + (end % 188 == 0)])
    if form == "mov":  # its index comes last
        assert "without its index (moov)" in refused(path)
        return
    clip = read_clip(path)
    assert clip.packets < 80
    assert any("it is cut short" in warning for warning in clip.warnings)
    if form in ("avi", "fragmented mp4"):  # the picture that was cut in two
        assert "pictures marked as damaged: 1" in clip.warnings


def test_a_cut_file_whose_index_comes_first_says_how_much_is_missing(tmp_path, clips):
    first = copied_into(tmp_path / "first.mp4", clips["mp4"], "-movflags", "+faststart")
    whole = first.read_bytes()
    first.write_bytes(whole[: len(whole) // 2])
    clip = read_clip(first)
    assert f"the file ends {len(whole) - len(whole) // 2} bytes before its last part does" in clip.warnings[0]
    assert "8 s long by its header, with only" in clip.warnings[1]


@pytest.mark.parametrize("form", FORMATS)
def test_a_whole_file_is_not_said_to_be_cut_short(form, clips):
    warnings = read_clip(clips[form]).warnings
    assert [text for text in warnings if not text.startswith("no time stamps")] == []


def test_an_encrypted_clip_says_so_and_is_counted_as_it_stands(tmp_path, clips):
    scheme = ["-encryption_scheme", "cenc-aes-ctr", *KEY]
    locked = read_clip(copied_into(tmp_path / "locked.mp4", clips["mp4"], *scheme))
    assert locked.packets == 80
    assert locked.mean_mbit_s == pytest.approx(read_clip(clips["mp4"]).mean_mbit_s)
    assert locked.warnings == ("encrypted: sizes and times are counted as stored",)


def test_a_scrambled_transport_stream_says_so(tmp_path, clips):
    stream = np.frombuffer(clips["ts"].read_bytes(), np.uint8).reshape(-1, 188).copy()
    is_video = ((stream[:, 1] & 0x1F).astype(int) << 8 | stream[:, 2]) == 0x100  # the first stream's packets
    stream[is_video, 3] |= 0x80
    (tmp_path / "scrambled.ts").write_bytes(stream.tobytes())
    assert "encrypted: sizes and times are counted as stored" in read_clip(tmp_path / "scrambled.ts").warnings


@pytest.fixture
def address():
    """Listen on this machine, and see that nobody comes."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.05)
        yield f"127.0.0.1:{server.getsockname()[1]}"
        with pytest.raises(TimeoutError):
            server.accept()


PLAY_LISTS = {
    "list": "#EXTM3U\n#EXT-X-TARGETDURATION:4\n#EXTINF:4,\n{there}\n#EXT-X-ENDLIST\n",
    "script": "ffconcat version 1.0\nfile '{there}'\n",
    "session": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=video 5004 RTP/AVP 96\n"
    "a=rtpmap:96 H264/90000\na=control:{there}\n",
    "manifest": '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static"><Period>'
    '<AdaptationSet mimeType="video/mp4"><Representation id="1"><BaseURL>{there}</BaseURL></Representation>'
    "</AdaptationSet></Period></MPD>",
}


@pytest.mark.parametrize("kind", PLAY_LISTS)
@pytest.mark.parametrize("suffix", [".mp4", ".ts", ".m3u8", ".sdp", ".mpd", ".txt"])
def test_what_names_an_address_or_another_file_is_refused_and_nothing_is_opened(kind, suffix, tmp_path, clips, address):
    shutil.copy(clips["ts"], tmp_path / "real.ts")
    for there in (f"http://{address}/real.ts", f"tcp://{address}", "real.ts", str(tmp_path / "real.ts")):
        refused(tmp_path / f"list{suffix}", PLAY_LISTS[kind].format(there=there).encode())


@pytest.mark.parametrize("name", ["http://{}/a.mp4", "tcp://{}", "concat:a.ts|b.ts", "async:a.ts", "fd:", "pipe:0"])
def test_a_name_that_looks_like_an_address_is_a_name(name, tmp_path, monkeypatch, address):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match="no such file"):
        read_clip(name.format(address))


@on_posix
@pytest.mark.parametrize(
    "name", ["=1+1.mp4", "a b.mp4", "%03d.mp4", "file:x.mp4", "t\u00fcr \u95e8.mp4", "-i.mp4", "a\nb.mp4", "x|y.mp4"]
)
def test_odd_names_are_read(name, tmp_path, clips, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shutil.copy(clips["mp4"], name)
    assert read_clip(name).file == name.replace("\n", "\\n")  # no line of its own on a terminal
    assert read_clip(name).packets == 80


@on_posix
def test_a_name_that_is_no_utf8_is_read(tmp_path, clips):
    path = os.fsdecode(os.fsencode(tmp_path) + b"/gate\xff.mp4")
    shutil.copy(clips["mp4"], path)
    assert read_clip(path).packets == 80


def test_time_stamps_over_months_are_refused(tmp_path):
    # 3000 s apart, which is no jump of a clock: 900 of them are 31.25 days.
    message = refused(draw(tmp_path / "months.mkv", times_ms=range(0, 900 * 3_000_000, 3_000_000), size=(32, 32)))
    assert "found time stamps with a span of 749 h; allowed: at most 31 days" in message


def test_a_rate_that_no_camera_reaches_is_refused(tmp_path, monkeypatch):
    def packets(file):
        with file._av:
            yield Packets(np.array([0, 0.001]), np.array([10**6, 10**6]), np.array([True, False]))

    monkeypatch.setattr(ClipFile, "packets", packets)
    message = refused(draw(tmp_path / "torrent.mp4"))  # 16 Mbit in 2 ms are 8000 Mbit/s
    assert "found 2000000 bytes in 0.002 s; allowed: a mean of at most 1000 Mbit/s" in message
    assert "Its time stamps may be damaged." in message


def test_a_clip_is_closed_after_it_was_refused(tmp_path):
    # 1500 pictures 3000 s apart: more than 31 days are seen while the file is open.
    path = draw(tmp_path / "months.mkv", times_ms=range(0, 1500 * 3_000_000, 3_000_000), size=(32, 32))
    with pytest.raises(InputError) as caught:
        read_clip(path)
    assert caught.value.faults  # the error is still held, and with it the frames that it went through
    assert str(path) not in [file.path for file in psutil.Process().open_files()]
