// Notices: numbers, the ring, recall; SPEC.md 11
#include "internal.h"

// Longest reply: a whole line and its newline
#define REPLY_ROOM (RIG_LONGEST_LINE_BYTES + 1u)
// Longest notice, an `edge` with a scale, and its newline
#define NOTICE_ROOM 62u

_Static_assert(RIG_RING_SIZE >= 16 && (RIG_RING_SIZE & (RIG_RING_SIZE - 1)) == 0,
               "numbers wrap at 65536: the ring must divide that");
_Static_assert(REPLY_ROOM + NOTICE_ROOM < RIG_TX_SIZE && RIG_TX_SIZE <= 256,
               "a notice must leave room for a reply");

static const char RIG_ROM kinds[][RIG_NOTICE_KIND_SIZE] = RIG_NOTICE_KIND_WORDS;
static const char RIG_ROM sources[][RIG_SOURCE_SIZE] = RIG_SOURCE_WORDS;
static const char RIG_ROM causes[][RIG_REST_CAUSE_SIZE] = RIG_REST_CAUSE_WORDS;
static const char RIG_ROM reasons[][RIG_START_REASON_SIZE] = RIG_START_REASON_WORDS;

// Numbers further back than this count as still to come
#define PAST_NUMBERS 0x7FFFu

// Take a notice out of the way of the next one, unsent
static void overwrite(struct rig_ring *ring)
{
    uint16_t number = ring->unsent++;
    for (uint8_t i = 0; i < 2u; i++) {
        struct rig_kept *kept = &ring->kept[i];
        if (kept->held && kept->number == number) {
            kept->due = true;
            return;
        }
    }
    ring->lost++;
}

// Keep the last of its kind; the one before it goes, sent or not
static void keep(struct rig_ring *ring, const struct rig_notice *notice, uint16_t number)
{
    struct rig_kept *kept = &ring->kept[notice->kind == RIG_NOTICE_KIND_FAULT ? 1 : 0];
    if (kept->due) {
        ring->lost++;
    }
    kept->notice = *notice;
    kept->number = number;
    kept->held = true;
    kept->due = false;
}

// Forget what is so old that its number will soon be another's
static void forget(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    for (uint8_t i = 0; i < 2u; i++) {
        struct rig_kept *kept = &rig->ring.kept[i];
        if ((uint16_t)(rig->ring.next - kept->number) > PAST_NUMBERS) {
            kept->held = false;
        }
    }
    port_unlock(rig, lock);
}

struct rig_notice *rig_notice_add(struct rig *rig, uint8_t kind, uint8_t first, uint8_t second,
                                  int32_t position, uint32_t time_us)
{
    struct rig_ring *ring = &rig->ring;
    uint16_t number = ring->next++;
    if ((uint16_t)(number - ring->unsent) >= RIG_RING_SIZE) {
        overwrite(ring);
    }
    if (kind == RIG_NOTICE_VOID) {
        ring->lost++;
    }
    if (ring->held < RIG_RING_SIZE) {
        ring->held++;
    }
    struct rig_notice *slot = &ring->slots[number % RIG_RING_SIZE];
    slot->kind = kind;
    slot->first = first;
    slot->second = second;
    slot->lost = ring->lost;
    slot->scale = 0;
    slot->position = position;
    slot->time_us = time_us;
    if (kind == RIG_NOTICE_KIND_REST || kind == RIG_NOTICE_KIND_FAULT) {
        keep(ring, slot, number);
    }
    return slot;
}

uint16_t rig_notice_oldest(const struct rig *rig)
{
    return (uint16_t)(rig->ring.next - rig->ring.held);
}

bool rig_notice_recall(struct rig *rig, uint16_t number)
{
    struct rig_ring *ring = &rig->ring;
    port_lock_t lock = port_lock(rig);
    uint16_t age = (uint16_t)(ring->next - number);
    const struct rig_notice *slot = &ring->slots[number % RIG_RING_SIZE];
    bool there = age >= 1u && age <= ring->held && slot->kind != RIG_NOTICE_VOID;
    for (uint8_t i = 0; i < 2u && !there; i++) {
        slot = &ring->kept[i].notice;
        there = ring->kept[i].held && ring->kept[i].number == number && age != 0;
    }
    if (there) {
        ring->recalled = *slot;
        ring->recalled_number = number;
        ring->recall_due = true;
    }
    port_unlock(rig, lock);
    return there;
}

static void put_notice(struct rig *rig, uint16_t number, const struct rig_notice *notice)
{
    rig_out_begin(rig, 'n', number);
    rig_out_rom(rig, kinds[notice->kind]);
    rig_out_unsigned(rig, notice->lost);
    switch (notice->kind) {
    case RIG_NOTICE_KIND_START:
        rig_out_signed(rig, notice->position);
        rig_out_rom(rig, reasons[notice->first]);
        rig_out_end(rig);
        return;
    case RIG_NOTICE_KIND_EDGE:
        rig_out_rom(rig, sources[notice->first]);
        rig_out_unsigned(rig, notice->second);
        break;
    case RIG_NOTICE_KIND_REST:
        rig_out_unsigned(rig, notice->first);
        rig_out_rom(rig, causes[notice->second]);
        break;
    default:
        rig_out_unsigned(rig, notice->first);
        break;
    }
    rig_out_signed(rig, notice->position);
    rig_out_unsigned(rig, notice->time_us);
    if (notice->kind == RIG_NOTICE_KIND_EDGE && rig_has_scale(rig)) {
        rig_out_signed(rig, (int16_t)notice->scale);
    }
    rig_out_end(rig);
}

// Take what the ring overwrote and must not be lost, the older one first; false for none
static bool next_kept(struct rig_ring *ring, uint16_t *number, struct rig_notice *notice)
{
    struct rig_kept *rest = &ring->kept[0];
    struct rig_kept *next = &ring->kept[1];
    if (!next->due
        || (rest->due && (uint16_t)(next->number - rest->number) <= PAST_NUMBERS)) {
        next = rest;
    }
    if (!next->due) {
        return false;
    }
    next->due = false;
    *number = next->number;
    *notice = next->notice;
    return true;
}

// Take the next notice to be sent; false for none
static bool next_notice(struct rig *rig, uint16_t *number, struct rig_notice *notice)
{
    struct rig_ring *ring = &rig->ring;
    port_lock_t lock = port_lock(rig);
    bool found = next_kept(ring, number, notice);
    while (!found && ring->unsent != ring->next) {
        *number = ring->unsent++;
        *notice = ring->slots[*number % RIG_RING_SIZE];
        found = notice->kind != RIG_NOTICE_VOID;
    }
    port_unlock(rig, lock);
    return found;
}

bool rig_notice_pressing(struct rig *rig)
{
    struct rig_ring *ring = &rig->ring;
    port_lock_t lock = port_lock(rig);
    uint16_t waiting = (uint16_t)(ring->next - ring->unsent);
    port_unlock(rig, lock);
    return waiting >= RIG_RING_SIZE / 2 && ring->since_reply < RIG_NOTICES_BEFORE_REPLY;
}

bool rig_notice_poll(struct rig *rig)
{
    forget(rig);
    // A reply that comes now finds room, and waits for little more than this notice
    if (rig_out_room(rig) < REPLY_ROOM + NOTICE_ROOM) {
        return false;
    }
    struct rig_notice notice;
    uint16_t number;
    if (rig->ring.recall_due) {
        rig->ring.recall_due = false;
        put_notice(rig, rig->ring.recalled_number, &rig->ring.recalled);
    } else if (next_notice(rig, &number, &notice)) {
        put_notice(rig, number, &notice);
        if (rig->ring.since_reply < RIG_NOTICES_BEFORE_REPLY) {
            rig->ring.since_reply++;
        }
    } else {
        return false;
    }
    return true;
}
