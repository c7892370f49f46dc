"""The inner loops of the simulated card. Arguments are checked by ``simulated_card.simulate``.

numba compiles them. Without it they run as they are, with the same result, far slower: a panel's answer takes seconds.
"""

import numpy as np

try:
    from numba import njit

    COMPILED = True
except ImportError:
    COMPILED = False

    def njit(**_):  # type: ignore[no-redef]  # stands in for the import that failed
        """Leave a function as it is."""
        return lambda function: function


@njit(cache=True)
def _take_free(free, count, erases, levelling):
    """Take a free block: the last one freed, or the least worn; give it and the number left."""
    at = count - 1
    if levelling > 0:
        for i in range(count):
            if erases[free[i]] < erases[free[at]]:
                at = i
    block = free[at]
    free[at] = free[count - 1]
    return block, count - 1


@njit(cache=True)
def by_page(writes, user_blocks, spare_blocks, block_pages, greedy, levelling, lag, marks):
    """Run a page-mapped card; give the flash pages written and the erase counts at each mark."""
    blocks = user_blocks + spare_blocks
    user_pages = user_blocks * block_pages
    place = np.full(user_pages, -1, np.int64)
    owner = np.full(blocks * block_pages, -1, np.int64)
    valid = np.zeros(blocks, np.int64)
    erases = np.zeros(blocks, np.int64)
    free = np.arange(blocks - 1, -1, -1)
    free_count = blocks
    # Full blocks: in the order they were filled, and linked by their number of valid pages.
    queue = np.zeros(blocks, np.int64)
    head, tail = 0, 0
    is_full = np.zeros(blocks, np.bool_)
    first = np.full(block_pages + 1, -1, np.int64)
    after = np.full(blocks, -1, np.int64)
    before = np.full(blocks, -1, np.int64)
    fewest = 0
    flash = 0
    cleanings = 0
    frontier, free_count = _take_free(free, free_count, erases, levelling)
    position = 0
    flash_at = np.zeros(len(marks), np.int64)
    erases_at = np.zeros((len(marks), blocks), np.int64)
    mark = 0
    for step in range(-user_pages, len(writes)):
        page = step + user_pages if step < 0 else writes[step]
        if step == 0:
            flash = 0
            erases[:] = 0
        old = place[page]
        if old >= 0:
            block = old // block_pages
            if is_full[block] and greedy:
                if before[block] >= 0:
                    after[before[block]] = after[block]
                else:
                    first[valid[block]] = after[block]
                if after[block] >= 0:
                    before[after[block]] = before[block]
                count = valid[block] - 1
                before[block] = -1
                after[block] = first[count]
                if first[count] >= 0:
                    before[first[count]] = block
                first[count] = block
                fewest = min(fewest, count)
            valid[block] -= 1
            owner[old] = -1
        at = frontier * block_pages + position
        place[page] = at
        owner[at] = page
        valid[frontier] += 1
        position += 1
        flash += 1
        while position == block_pages:
            queue[tail] = frontier
            tail = (tail + 1) % blocks
            is_full[frontier] = True
            if greedy:
                count = valid[frontier]
                before[frontier] = -1
                after[frontier] = first[count]
                if first[count] >= 0:
                    before[first[count]] = frontier
                first[count] = frontier
                fewest = min(fewest, count)
            frontier, free_count = _take_free(free, free_count, erases, levelling)
            position = 0
            while free_count == 0:
                if greedy:
                    victim = -1
                    cleanings += 1
                    if levelling == 2 and cleanings % 16 == 0:
                        least = -1
                        for candidate in range(blocks):
                            if is_full[candidate] and (least < 0 or erases[candidate] < erases[least]):
                                least = candidate
                        if erases.max() - erases[least] > lag:
                            victim = least
                    if victim < 0:
                        while first[fewest] < 0:
                            fewest += 1
                        victim = first[fewest]
                else:  # Blocks that are cleaned in turn wear alike: still data has not to be moved apart.
                    victim = queue[head]
                    head = (head + 1) % blocks
                is_full[victim] = False
                if greedy:
                    if before[victim] >= 0:
                        after[before[victim]] = after[victim]
                    else:
                        first[valid[victim]] = after[victim]
                    if after[victim] >= 0:
                        before[after[victim]] = before[victim]
                for offset in range(block_pages):
                    source = victim * block_pages + offset
                    moved = owner[source]
                    if moved >= 0:
                        at = frontier * block_pages + position
                        place[moved] = at
                        owner[at] = moved
                        valid[frontier] += 1
                        position += 1
                        flash += 1
                valid[victim] = 0
                erases[victim] += 1
                free[free_count] = victim
                free_count += 1
        while mark < len(marks) and step + 1 >= marks[mark]:
            flash_at[mark] = flash
            erases_at[mark] = erases
            mark += 1
    return flash_at, erases_at


@njit(cache=True)
def by_unit(writes, user_units, spare_units, unit_pages, open_units, with_log, levelling, lag, marks):
    """Run a card mapped by allocation unit; give the flash pages written and the erase counts at each mark."""
    units = user_units + spare_units
    place = np.arange(user_units)
    erases = np.zeros(units, np.int64)
    free = np.arange(units - 1, user_units - 1, -1)
    free = np.append(free, np.zeros(user_units, np.int64))
    free_count = spare_units
    unit_of = np.full(open_units, -1, np.int64)
    target = np.zeros(open_units, np.int64)
    position = np.zeros(open_units, np.int64)
    used = np.full(open_units, -1, np.int64)
    touched = np.zeros(user_units, np.bool_)
    logged = 0
    log = -1
    if with_log:
        log, free_count = _take_free(free, free_count, erases, levelling)
    flash = 0
    freed = 0
    flash_at = np.zeros(len(marks), np.int64)
    erases_at = np.zeros((len(marks), units), np.int64)
    mark = 0
    for step in range(len(writes)):
        unit, offset = divmod(writes[step], unit_pages)
        slot = -1
        for i in range(open_units):
            if unit_of[i] == unit:
                slot = i
        appends = slot >= 0 and position[slot] == offset
        if with_log and not appends and offset != 0:
            flash += 1
            logged += 1
            touched[unit] = True
            if logged == unit_pages:
                for other in range(user_units):
                    if touched[other]:
                        touched[other] = False
                        for i in range(open_units):
                            if unit_of[i] == other:
                                flash += unit_pages - position[i]
                                free[free_count] = place[other]
                                erases[place[other]] += 1
                                free_count += 1
                                place[other] = target[i]
                                unit_of[i] = -1
                                used[i] = -1
                        fresh, free_count = _take_free(free, free_count, erases, levelling)
                        flash += unit_pages
                        erases[place[other]] += 1
                        free[free_count] = place[other]
                        free_count += 1
                        place[other] = fresh
                erases[log] += 1
                free[free_count] = log
                free_count += 1
                log, free_count = _take_free(free, free_count, erases, levelling)
                logged = 0
        else:
            if not appends:
                if slot < 0:
                    slot = used.argmin()
                if unit_of[slot] >= 0:
                    closed = unit_of[slot]
                    flash += unit_pages - position[slot]
                    erases[place[closed]] += 1
                    free[free_count] = place[closed]
                    free_count += 1
                    place[closed] = target[slot]
                    freed += 1
                unit_of[slot] = unit
                target[slot], free_count = _take_free(free, free_count, erases, levelling)
                flash += offset
                position[slot] = offset
            flash += 1
            position[slot] += 1
            used[slot] = step
            if position[slot] == unit_pages:
                erases[place[unit]] += 1
                free[free_count] = place[unit]
                free_count += 1
                place[unit] = target[slot]
                unit_of[slot] = -1
                used[slot] = -1
                freed += 1
        if levelling == 2 and freed >= 16:
            freed = 0
            still = -1
            for candidate in range(user_units):
                is_open = False
                for i in range(open_units):
                    is_open = is_open or unit_of[i] == candidate
                if not is_open and (still < 0 or erases[place[candidate]] < erases[place[still]]):
                    still = candidate
            worn = 0
            for i in range(free_count):
                if erases[free[i]] > erases[free[worn]]:
                    worn = i
            if still >= 0 and erases[free[worn]] - erases[place[still]] > lag:
                flash += unit_pages
                erases[place[still]] += 1
                place[still], free[worn] = free[worn], place[still]
        while mark < len(marks) and step + 1 >= marks[mark]:
            flash_at[mark] = flash
            erases_at[mark] = erases
            mark += 1
    return flash_at, erases_at
