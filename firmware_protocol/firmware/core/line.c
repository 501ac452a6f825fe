// Bytes in, whole lines out; SPEC.md 2 and 5. Knows no meaning.
#include "internal.h"

#define CARRIAGE_RETURN 0x0Du // some terminals send it before the newline
#define CHECK_LENGTH 5u       // the blank and four digits

/// Bytes from the port ///

void rig_on_byte(struct rig *rig, uint8_t byte, bool damaged)
{
    if (byte == RIG_STOP_BYTE) {
        // Whatever waits is dropped: an order half sent when somebody pressed stop
        // must not be carried out
        rig->in.tail = rig->in.head;
        rig->in.stop = true;
        rig->held = true;
        rig_motion_end(rig, RIG_REST_CAUSE_STOPPED, 0);
        return;
    }
    uint8_t head = rig->in.head;
    uint8_t next = (uint8_t)((head + 1u) % RIG_RX_SIZE);
    if (next == rig->in.tail) {
        // No room: spoil the byte before, so that the line it is in is dropped
        rig->in.bytes[(uint8_t)(head - 1u) % RIG_RX_SIZE] = 0;
        return;
    }
    rig->in.bytes[head] = damaged ? 0 : byte;
    rig->in.head = next;
}

/// Lines ///

static void drop(struct rig *rig)
{
    rig->dropped++;
    rig_line_clear(rig);
}

void rig_line_clear(struct rig *rig)
{
    rig->line.inside = false;
    rig->line.whole = false;
    rig->line.length = 0;
    rig->line.returned = false;
}

static int8_t hex_value(char digit)
{
    if (digit >= '0' && digit <= '9') {
        return (int8_t)(digit - '0');
    }
    if (digit >= 'a' && digit <= 'f') {
        return (int8_t)(digit - 'a' + 10);
    }
    return -1;
}

// Whether the check fits; takes it off the line
static bool check_fits(struct rig_line *line)
{
    if (line->length <= CHECK_LENGTH) {
        return false;
    }
    uint8_t body = (uint8_t)(line->length - CHECK_LENGTH);
    uint16_t check = RIG_CHECK_START;
    for (uint8_t i = 0; i < body; i++) {
        check = rig_check_add(check, (uint8_t)line->text[i]);
    }
    uint16_t sent = 0;
    for (uint8_t i = 1; i < CHECK_LENGTH; i++) {
        int8_t value = hex_value(line->text[body + i]);
        if (value < 0) {
            return false;
        }
        sent = (uint16_t)((uint16_t)(sent << 4) | (uint16_t)value);
    }
    line->length = body;
    return line->text[body] == ' ' && sent == check;
}

static void end_line(struct rig *rig)
{
    if (!check_fits(&rig->line)) {
        drop(rig);
        return;
    }
    rig->line.inside = false;
    rig->line.whole = true;
    // An echo of the controller's own lines keeps nothing alive
    if (rig->line.text[0] == 'q') {
        rig->heard_us = port_time_us(rig);
        rig->rate_untried = false;
    }
}

static void take(struct rig *rig, uint8_t byte)
{
    struct rig_line *line = &rig->line;
    if (byte == RIG_START_BYTE) {
        if (line->inside) {
            drop(rig);
        }
        rig_line_clear(rig);
        line->inside = true;
    } else if (!line->inside) {
        return;
    } else if (byte == RIG_END_BYTE) {
        end_line(rig);
    } else if (line->returned) {
        drop(rig);
    } else if (byte == CARRIAGE_RETURN) {
        line->returned = true;
    } else if (byte < 0x20u || byte > 0x7Eu
               || line->length >= RIG_LONGEST_LINE_BYTES - 1u) {
        drop(rig);
    } else {
        line->text[line->length++] = (char)byte;
    }
}

// The next byte that came, or -1; sees to a stop first
static int16_t next_byte(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    int16_t byte = -1;
    if (rig->in.stop) {
        rig->in.stop = false;
        rig_line_clear(rig);
    }
    uint8_t tail = rig->in.tail;
    if (!rig->line.whole && tail != rig->in.head) {
        byte = rig->in.bytes[tail];
        rig->in.tail = (uint8_t)((tail + 1u) % RIG_RX_SIZE);
    }
    port_unlock(rig, lock);
    return byte;
}

bool rig_line_poll(struct rig *rig)
{
    int16_t byte = next_byte(rig);
    bool any = byte >= 0;
    while (byte >= 0) {
        take(rig, (uint8_t)byte);
        byte = next_byte(rig);
    }
    return any;
}
