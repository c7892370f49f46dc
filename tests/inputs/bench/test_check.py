"""Cards that lie, lose, change, stall or end: each is told by its name, and a sound one is accepted."""

import errno
import os
import resource
from functools import partial
from pathlib import Path

import pytest

from edgestore.answers.card_check import Label, Verdict, checked_card
from edgestore.checks import InputError
from edgestore.inputs.bench import check as whole
from edgestore.inputs.bench import own_folder, probes
from edgestore.inputs.bench import place as places
from edgestore.inputs.bench.check import FULL, QUICK, ROOM_BYTES, check_card, remove_left
from edgestore.inputs.bench.fill import CHUNK_BYTES
from edgestore.inputs.bench.own_folder import NAME, STATE, OwnFolder
from edgestore.inputs.bench.pattern import BLOCK_BYTES, Pattern
from edgestore.inputs.bench.place import checked_place, spared_bytes
from edgestore.inputs.bench.probes import keeps_room

pytestmark = pytest.mark.landing

CHUNKS = 8
"""A card of so many chunks is checked."""

TRUE = CHUNKS * CHUNK_BYTES
PART = 2 * CHUNK_BYTES


class Sound(OwnFolder):
    """A card whose pattern stands in memory, as a device would have it, behind the real folder and its state."""

    true_bytes = TRUE

    def __init__(self, place: Path, *, any_folder: bool = False) -> None:
        super().__init__(place, any_folder=any_folder)
        self.device = bytearray(self.true_bytes)
        self.lengths: dict[str, int] = {}

    def free_bytes(self) -> int:
        return TRUE + ROOM_BYTES

    def size_bytes(self) -> int:
        return TRUE + ROOM_BYTES

    def length(self, name: str) -> int:
        return self.lengths.get(name, 0)

    def address(self, name: str, at: int) -> int:
        return int(name.removeprefix("part-")) * PART + at

    def write(self, name: str, at: int, data: memoryview) -> None:
        if name.startswith("part-"):
            self.lengths[name] = at + len(data)
            self.put(self.address(name, at), data)

    def read(self, name: str, at: int, into: memoryview) -> None:
        into[:] = self.get(self.address(name, at), len(into))

    def settle(self, name: str) -> None:
        pass

    def reserve(self, name: str, size_bytes: int) -> None:
        pass

    def clear_parts(self) -> None:
        self.lengths.clear()

    def put(self, at: int, data: memoryview) -> None:
        self.device[at : at + len(data)] = data

    def get(self, at: int, count: int) -> bytes:
        return bytes(self.device[at : at + count])


class Wrapping(Sound):
    """Says that it is twice as large as it is: addresses begin again."""

    true_bytes = TRUE // 2

    def put(self, at: int, data: memoryview) -> None:
        super().put(at % self.true_bytes, data)

    def get(self, at: int, count: int) -> bytes:
        return super().get(at % self.true_bytes, count)


class Dropping(Sound):
    """Drops what is written beyond a quarter of what it says that it has."""

    def put(self, at: int, data: memoryview) -> None:
        if at < TRUE // 4:
            super().put(at, data)


class Flipping(Sound):
    """Flips one bit of one block."""

    def get(self, at: int, count: int) -> bytes:
        got = bytearray(super().get(at, count))
        place = 3 * CHUNK_BYTES + 5 * BLOCK_BYTES + 100
        if at <= place < at + count:
            got[place - at] ^= 0b100
        return bytes(got)


class FullEarly(Sound):
    def put(self, at: int, data: memoryview) -> None:
        if at >= TRUE // 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        super().put(at, data)


class PulledOut(Sound):
    def put(self, at: int, data: memoryview) -> None:
        if at >= TRUE // 2:
            raise OSError(errno.ENODEV, os.strerror(errno.ENODEV))
        super().put(at, data)


class Unreadable(Sound):
    def get(self, at: int, count: int) -> bytes:
        place = 2 * CHUNK_BYTES + 7 * BLOCK_BYTES
        if at <= place < at + count:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        return super().get(at, count)


@pytest.fixture(autouse=True)
def few_updates(monkeypatch):
    monkeypatch.setattr(whole, "UPDATES", 3)
    monkeypatch.setattr(whole, "spared_bytes", lambda place: 0)  # the folder in place of a card is on our own disk


def checked(card, place, mode=FULL, **options):
    made = check_card(place, mode=mode, any_folder=True, opened=card, part_bytes=PART, **options)
    return checked_card(made, Label(capacity_gb=(TRUE + ROOM_BYTES) / 1e9))


def reasons(answer):
    return [reason.name for reason in answer.reasons if reason.weight.value != "tells"]


def test_a_sound_card_is_accepted_and_nothing_is_left_on_it(tmp_path):
    (tmp_path / "footage.mp4").write_bytes(b"kept")
    answer = checked(Sound, tmp_path)
    assert (answer.verdict, reasons(answer)) == (Verdict.ACCEPTED, [])
    assert answer.check.read.kept_bytes == answer.check.bytes_written == TRUE
    assert [path.name for path in tmp_path.iterdir()] == ["footage.mp4"]


@pytest.mark.parametrize(
    ("card", "name"),
    [
        (Wrapping, "addresses repeat"),
        (Dropping, "loses footage"),
        (Flipping, "changes footage"),
        (FullEarly, "full early"),
        (Unreadable, "cannot be read"),
    ],
)
def test_a_faulty_card_is_refused_by_the_name_of_its_fault(tmp_path, card, name):
    answer = checked(card, tmp_path)
    assert (answer.verdict, reasons(answer)) == (Verdict.REFUSED, [name])
    assert not list(tmp_path.iterdir())


def test_the_true_capacity_of_a_card_whose_addresses_repeat_is_what_came_back_and_where_they_repeat(tmp_path):
    # 32 MiB are written to 16 MiB: the second half takes the place of the first.
    read = checked(Wrapping, tmp_path).check.read
    assert read.kept_bytes == read.repeats_after_bytes == TRUE // 2
    assert [(one.first_byte, one.last_byte, one.distance_bytes) for one in read.ranges] == [
        (0, TRUE // 2 - 1, TRUE // 2)
    ]


def test_one_bit_is_found_where_it_is(tmp_path):
    [one] = checked(Flipping, tmp_path).check.read.ranges
    first = 3 * CHUNK_BYTES + 5 * BLOCK_BYTES
    assert (one.first_byte, one.last_byte, one.bits) == (first, first + BLOCK_BYTES - 1, 1)


def test_a_card_that_is_pulled_out_is_not_judged(tmp_path):
    answer = checked(PulledOut, tmp_path)
    assert (answer.verdict, reasons(answer)) == (Verdict.UNDECIDED, ["gone"])
    assert answer.check.bytes_written == TRUE // 2


def test_places_find_a_card_that_drops_three_quarters(tmp_path):
    # 4 places, the first in the quarter that is there.
    answer = checked(Dropping, tmp_path, QUICK, probes=4)
    assert (answer.verdict, answer.check.probed.false_probes) == (Verdict.REFUSED, 3)
    assert reasons(checked(Sound, tmp_path, QUICK, probes=4)) == ["quick"]


def test_a_stopped_check_goes_on_where_it_was(tmp_path):
    device: list[Sound] = []

    class Again(Sound):
        def __init__(self, place, *, any_folder=False):
            super().__init__(place, any_folder=any_folder)
            if device:
                self.device, self.lengths = device[0].device, device[0].lengths
            device.append(self)

    def stop(what, done, of):
        if done >= TRUE // 2 + CHUNK_BYTES:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        checked(Again, tmp_path, progress=stop)
    assert (tmp_path / NAME / STATE).exists()
    begun = []
    answer = checked(Again, tmp_path, progress=lambda what, done, of: begun.append((what, done)))
    assert begun[0] == ("Writing", TRUE // 2 + CHUNK_BYTES)  # the half that was whole is not written again
    assert (answer.verdict, len(answer.check.runs)) == (Verdict.ACCEPTED, 2)
    assert not list(tmp_path.iterdir())


def test_a_check_that_is_stopped_before_a_file_is_whole_leaves_nothing(tmp_path):
    def stop(what, done, of):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        checked(Sound, tmp_path, progress=stop)
    assert not list(tmp_path.iterdir())


def test_what_an_earlier_check_left_is_removed_and_nothing_else(tmp_path):
    with OwnFolder(tmp_path, any_folder=True) as card:
        card.keep({"mode": FULL})
    (tmp_path / "mine.txt").write_text("kept")
    remove_left(tmp_path, any_folder=True)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_a_folder_with_another_s_file_is_neither_used_nor_removed(tmp_path):
    (tmp_path / NAME).mkdir()
    (tmp_path / NAME / "holiday.jpg").write_bytes(b"x")
    with pytest.raises(InputError, match=r"found holiday\.jpg; allowed: files of a card check alone"):
        checked(Sound, tmp_path)
    assert (tmp_path / NAME / "holiday.jpg").exists()


def test_parts_without_the_state_of_a_check_are_not_removed(tmp_path):
    (tmp_path / NAME).mkdir()
    (tmp_path / NAME / "part-00000").write_bytes(b"x")
    with pytest.raises(InputError, match="no state that can be read"):
        remove_left(tmp_path, any_folder=True)
    assert (tmp_path / NAME / "part-00000").exists()


@pytest.mark.parametrize("state", [b"[]", b"{}", b"\xff\xfe", b'{"format": "other"}'])
def test_a_state_that_no_check_wrote_is_refused(tmp_path, state):
    (tmp_path / NAME).mkdir()
    (tmp_path / NAME / STATE).write_bytes(state)
    with pytest.raises(InputError, match="no state that can be read"):
        checked(Sound, tmp_path)


def test_a_link_in_place_of_the_folder_is_not_followed(tmp_path):
    other = tmp_path / "other"
    other.mkdir()
    (tmp_path / "card").mkdir()
    (tmp_path / "card" / NAME).symlink_to(other)
    with pytest.raises(InputError, match="card that can be written to"):
        checked(Sound, tmp_path / "card")
    assert not list(other.iterdir())


def test_a_place_that_is_no_mount_point_is_refused_unless_told(tmp_path):
    with pytest.raises(
        InputError, match="a folder that is not a mount point; allowed: the folder where the card is mounted"
    ):
        check_card(tmp_path)
    assert not list(tmp_path.iterdir())


def test_a_device_a_file_and_a_place_that_is_not_there_are_refused(tmp_path):
    (tmp_path / "file").touch()
    for place, found in (
        (Path(os.devnull), "a device"),
        (tmp_path / "file", "a file"),
        (tmp_path / "no", "No such file"),
    ):
        with pytest.raises(InputError, match=f"found {found}"):
            check_card(place, any_folder=True)


def test_two_checks_of_a_card_at_once_are_refused(tmp_path):
    with OwnFolder(tmp_path, any_folder=True) as card:
        card.keep({})
        with pytest.raises(InputError, match="a check that is running"):
            OwnFolder(tmp_path, any_folder=True)


def test_the_free_space_asked_for_is_left(tmp_path):
    answer = checked(Sound, tmp_path, leave_gb=2 * CHUNK_BYTES / 1e9)
    assert answer.check.bytes_written == TRUE - 2 * CHUNK_BYTES


def test_a_card_with_too_little_room_is_refused_and_left_as_it_was(tmp_path):
    with pytest.raises(InputError, match="free space"):
        checked(Sound, tmp_path, leave_gb=1)
    assert not list(tmp_path.iterdir())


def left(place, **files):
    """A folder that a killed check left, with a state that can be read, and what else is said."""
    with OwnFolder(place, any_folder=True) as card:
        card.keep({"mode": FULL})
    for name, content in files.items():
        (place / NAME / name).write_bytes(content)


def test_a_file_with_a_second_name_is_neither_written_to_nor_removed(tmp_path):
    # Somebody's footage under a name that the check gives: as a hard link it is the same file.
    footage = tmp_path / "footage.mp4"
    footage.write_bytes(b"kept")
    for name in ("part-00000", "state.new", "small-updates"):
        card = tmp_path / f"card of {name}"
        card.mkdir()
        left(card)
        os.link(footage, card / NAME / name)
        with pytest.raises(InputError, match=f"found {name}; allowed: files of a card check alone"):
            checked(Sound, card)
        with pytest.raises(InputError):
            remove_left(card, any_folder=True)
        assert (card / NAME / name).exists()
    assert footage.read_bytes() == b"kept"


def test_a_link_or_a_pipe_under_a_name_of_the_check_is_not_opened(tmp_path):
    footage = tmp_path / "footage.mp4"
    footage.write_bytes(b"kept")
    for number, make in enumerate((lambda path: path.symlink_to(footage), os.mkfifo)):
        card = tmp_path / str(number)
        card.mkdir()
        left(card)
        make(card / NAME / "part-00000")
        with pytest.raises(InputError, match=r"found part-00000"):
            checked(Sound, card)
    assert footage.read_bytes() == b"kept"


def test_a_file_that_comes_into_the_folder_while_a_check_runs_is_left_alone(tmp_path):
    with OwnFolder(tmp_path, any_folder=True) as card:
        card.keep({"mode": FULL})
        (tmp_path / NAME / "part-00000").write_bytes(b"somebody's")
        with pytest.raises(InputError, match=r"found part-00000"):
            card.write("part-00000", 0, memoryview(bytearray(BLOCK_BYTES)))
        card.remove()
    assert [path.name for path in (tmp_path / NAME).iterdir()] == ["part-00000"]
    assert (tmp_path / NAME / "part-00000").read_bytes() == b"somebody's"


@pytest.mark.parametrize("begun", [b"", bytes(BLOCK_BYTES), b'{"format": "edgestore ca'])
def test_a_check_that_was_killed_before_its_first_state_was_whole_is_cleared(tmp_path, begun):
    (tmp_path / NAME).mkdir()
    (tmp_path / NAME / "state.new").write_bytes(begun)
    remove_left(tmp_path, any_folder=True)
    assert not list(tmp_path.iterdir())


def test_a_file_of_that_name_which_no_check_began_stays(tmp_path):
    (tmp_path / NAME).mkdir()
    (tmp_path / NAME / "state.new").write_bytes(b"a list of mine")
    with pytest.raises(InputError, match=r"found state\.new"):
        remove_left(tmp_path, any_folder=True)
    assert (tmp_path / NAME / "state.new").read_bytes() == b"a list of mine"


@pytest.mark.parametrize(
    "change",
    [
        {"seed": "7"},
        {"total_bytes": -1},
        {"total_bytes": 5},
        {"kept_free_bytes": -1},
        {"runs": [{}]},
        {"read": {"x": 1}},
        {"runs": 3},
    ],
)
def test_a_state_with_nonsense_in_it_is_begun_anew(tmp_path, change):
    with OwnFolder(tmp_path, any_folder=True) as card:
        good = {"mode": FULL, "part_bytes": PART, "seed": 1, "total_bytes": TRUE, "kept_free_bytes": 1}
        good |= {"runs": [], "read": None}
        card.keep(good | change)
    assert checked(Sound, tmp_path).verdict is Verdict.ACCEPTED


def test_a_file_system_without_locks_is_refused_with_what_to_do(tmp_path, monkeypatch):
    def no_locks(file, how):
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr("edgestore.inputs.bench.own_folder.fcntl.flock", no_locks)
    with pytest.raises(InputError, match=r"no locks .*; allowed: a file system with locks"):
        checked(Sound, tmp_path)


def test_room_that_another_program_took_is_not_held_against_the_card(tmp_path):
    class Taken(FullEarly):
        def free_bytes(self):
            return 0 if len(self.lengths) > 1 else super().free_bytes()

    answer = checked(Taken, tmp_path)
    assert (answer.verdict, reasons(answer)) == (Verdict.UNDECIDED, ["no room left"])


def test_a_card_that_stands_still_is_told_by_that(tmp_path, monkeypatch):
    # A clock of our own: each chunk takes 0.1 s, the fourth 2.5 s.
    now = [0.0]

    class Stalling(Sound):
        def put(self, at, data):
            super().put(at, data)
            now[0] += 2.5 if at == 3 * CHUNK_BYTES else 0.1

    monkeypatch.setattr(whole, "fill", partial(whole.fill, clock=lambda: now[0]))
    answer = checked(Stalling, tmp_path)
    assert (answer.verdict, reasons(answer)) == (Verdict.UNDECIDED, ["stalls"])
    assert answer.check.longest_stall_s == pytest.approx(2.5)


def test_a_sound_card_is_never_refused_in_twenty_runs(tmp_path):
    for number in range(20):
        assert checked(Sound, tmp_path).verdict is Verdict.ACCEPTED, number
        quick = checked(Sound, tmp_path, QUICK, probes=4)
        assert (quick.verdict, reasons(quick)) == (Verdict.UNDECIDED, ["quick"]), number


def test_a_card_that_keeps_no_state_while_it_is_read_is_judged_and_raises_nothing(tmp_path):
    class NoState(Sound):
        def keep(self, state):
            if state.get("read"):
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            super().keep(state)

    answer = checked(NoState, tmp_path)
    assert (answer.verdict, reasons(answer)) == (Verdict.REFUSED, ["a write failed"])


def test_a_check_that_loses_the_room_for_its_state_reads_on(tmp_path):
    class Full(Sound):
        def keep(self, state):
            if state.get("read"):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            super().keep(state)

    answer = checked(Full, tmp_path)
    assert (answer.verdict, answer.check.read.kept_bytes) == (Verdict.ACCEPTED, TRUE)


def test_a_card_that_took_almost_all_of_its_free_space_is_not_called_false(tmp_path, monkeypatch):
    # 7 of 8 chunks are 87.5 %: full early by the bar of 95 %, not by one of 85 %.
    class NearlyAll(Sound):
        def put(self, at, data):
            if at >= 7 * CHUNK_BYTES:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            super().put(at, data)

    assert reasons(checked(NearlyAll, tmp_path)) == ["full early"]
    monkeypatch.setattr(whole, "ALMOST", 0.85)
    answer = checked(NearlyAll, tmp_path)
    assert (answer.verdict, reasons(answer)) == (Verdict.UNDECIDED, ["no room left"])


def test_a_card_that_is_full_of_footage_is_not_accepted_for_the_rest_of_it(tmp_path):
    class InUse(Sound):
        def size_bytes(self):
            return 3 * TRUE + ROOM_BYTES

    answer = checked(InUse, tmp_path)
    assert (answer.verdict, reasons(answer)) == (Verdict.UNDECIDED, ["not all tried"])


class NoRoom(Sound):
    """A file system that keeps no room for a file without writing it."""

    def reserve(self, name, size_bytes):
        raise OSError(errno.EOPNOTSUPP, os.strerror(errno.EOPNOTSUPP))


def test_where_no_room_can_be_kept_a_quick_check_reads_back_its_beginning_and_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr(whole, "QUICK_BYTES", 2 * CHUNK_BYTES)
    answer = checked(NoRoom, tmp_path, QUICK, probes=4)
    assert (answer.verdict, reasons(answer)) == (Verdict.UNDECIDED, ["beginning only"])
    assert answer.check.read.kept_bytes == 2 * CHUNK_BYTES
    assert "25.0 % of the free space" in " ".join(answer.reasons[0].text.split())


def test_where_no_room_can_be_kept_a_quick_check_still_finds_what_its_beginning_shows(tmp_path, monkeypatch):
    class Empty(NoRoom):
        def put(self, at, data):
            pass

    monkeypatch.setattr(whole, "QUICK_BYTES", 2 * CHUNK_BYTES)
    answer = checked(Empty, tmp_path, QUICK, probes=4)
    assert (answer.verdict, reasons(answer)[0]) == (Verdict.REFUSED, "loses footage")


def test_room_that_is_filled_with_zeros_is_not_taken_for_kept(tmp_path):
    # 64 MiB at 10 Mbyte/s take 6.7 s to write: kept in 3 s they were written, in 1 s they were not.
    with Sound(tmp_path, any_folder=True) as card:
        for seconds, is_kept in ((3.0, False), (1.0, True)):
            assert keeps_room(card, 10.0, clock=iter((0.0, seconds)).__next__) is is_kept


def no_fallocate(file, size_bytes):
    raise OSError(errno.EOPNOTSUPP, os.strerror(errno.EOPNOTSUPP))


def test_a_file_that_is_made_longer_keeps_no_room_where_the_file_system_gives_it_none(tmp_path, monkeypatch):
    monkeypatch.setattr(own_folder, "_fallocate", no_fallocate)
    with OwnFolder(tmp_path, any_folder=True) as card:
        card.keep({})
        with pytest.raises(OSError, match="not supported"):
            card.reserve("part-00000", 2**24)
        assert card.length("part-00000") == 0
        card.remove()


def test_a_file_that_is_made_longer_keeps_room_where_the_file_system_gives_it(tmp_path, monkeypatch):
    # exFAT does so; here the room is there beforehand.
    def given(file, size_bytes):
        os.posix_fallocate(file, 0, size_bytes)
        no_fallocate(file, size_bytes)

    monkeypatch.setattr(own_folder, "_fallocate", given)
    with OwnFolder(tmp_path, any_folder=True) as card:
        card.keep({})
        card.reserve("part-00000", 2**24)
        assert card.length("part-00000") == 2**24
        card.remove()


def test_a_place_of_more_than_a_file_of_fat32_may_hold_has_several_files(tmp_path, monkeypatch):
    kept = {}

    class Noting(Sound):
        def reserve(self, name, size_bytes):
            kept[name] = size_bytes

        def address(self, name, at):
            return int(name.removeprefix("part-")) * CHUNK_BYTES + at

    monkeypatch.setattr(probes, "FILE_BYTES", CHUNK_BYTES)
    with Noting(tmp_path, any_folder=True) as card:
        found = probes.probe(card, Pattern(1), TRUE, 4)  # 8 chunks, 2 a place
    assert (found.probes, found.wrong, sum(kept.values())) == (4, [], TRUE)
    assert set(kept.values()) == {CHUNK_BYTES}


def test_more_files_than_a_program_may_open_are_written_and_read(tmp_path, monkeypatch):
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    opened = len(os.listdir("/proc/self/fd"))
    block = own_folder.buffer(BLOCK_BYTES)
    with OwnFolder(tmp_path, any_folder=True) as card:
        card.keep({})
        resource.setrlimit(resource.RLIMIT_NOFILE, (opened + own_folder.MOST_OPEN + 8, hard))
        try:
            for number in range(own_folder.MOST_OPEN + 20):
                block[:4] = number.to_bytes(4, "big")
                card.write(f"part-{number:05d}", 0, block)
            for number in range(own_folder.MOST_OPEN + 20):
                card.read(f"part-{number:05d}", 0, block)
                assert int.from_bytes(block[:4], "big") == number
        finally:
            resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
        card.remove()


@pytest.mark.parametrize("place", ["/", "/dev/shm"])
def test_the_disk_that_a_machine_runs_from_and_its_memory_are_no_card(place):
    if not os.path.ismount(place):
        pytest.skip(f"{place} is no mount point here")
    with pytest.raises(InputError, match="a disk that this machine runs from, or its memory"):
        checked_place(Path(place), any_folder=False)


def test_of_a_folder_on_the_machine_s_own_disk_a_tenth_stays_free(tmp_path):
    whole_disk = os.statvfs(tmp_path)
    assert spared_bytes(tmp_path) == pytest.approx(0.1 * whole_disk.f_blocks * whole_disk.f_frsize)


@pytest.mark.parametrize(
    ("mounted", "is_own"),
    [
        ("tmpfs tmpfs rw", True),
        ("nfs4 server:/export rw", True),
        ("vfat /dev/mmcblk0p1 rw", False),
        ("ext4 /dev/sdb1 rw", False),
        ("fuseblk /dev/sdb1 rw", False),
    ],
)
def test_what_is_mounted_there_says_whether_it_can_be_a_card(tmp_path, monkeypatch, mounted, is_own):
    device = tmp_path.stat().st_dev
    mounts = tmp_path / "mountinfo"
    mounts.write_text(f"36 25 {os.major(device)}:{os.minor(device)} / {tmp_path} rw shared:1 - {mounted}\n")
    monkeypatch.setattr(places, "MOUNTS", mounts)
    monkeypatch.setattr(places, "own_folders", lambda: ())
    assert places.is_of_machine(tmp_path) is is_own
