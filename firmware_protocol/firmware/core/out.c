// Lines to the host: fields, check, end; and the remembered reply
#include "internal.h"

uint8_t rig_out_room(const struct rig *rig)
{
    uint8_t used = (uint8_t)((uint8_t)(rig->out.head - rig->out.tail) % RIG_TX_SIZE);
    return (uint8_t)(RIG_TX_SIZE - 1u - used);
}

static void put(struct rig *rig, char character)
{
    uint8_t head = rig->out.head;
    rig->out.bytes[head] = (uint8_t)character;
    rig->out.head = (uint8_t)((head + 1u) % RIG_TX_SIZE);
    port_sending(rig);
    if (rig->keeping) {
        rig->memory.reply[rig->memory.reply_length++] = character;
    }
}

static void put_checked(struct rig *rig, char character)
{
    rig->check = rig_check_add(rig->check, (uint8_t)character);
    put(rig, character);
}

static void put_number(struct rig *rig, uint32_t magnitude, bool negative)
{
    char text[11];
    uint8_t length = rig_number_write(text, magnitude, negative);
    for (uint8_t i = 0; i < length; i++) {
        put_checked(rig, text[i]);
    }
}

void rig_out_begin(struct rig *rig, char mark, uint16_t number)
{
    put(rig, (char)RIG_START_BYTE);
    rig->check = RIG_CHECK_START;
    put_checked(rig, mark);
    put_number(rig, number, false);
}

void rig_out_rom(struct rig *rig, const char *rom_word)
{
    put_checked(rig, ' ');
    for (char c = (char)port_rom_u8(rom_word); c != 0;
         c = (char)port_rom_u8(++rom_word)) {
        put_checked(rig, c);
    }
}

void rig_out_text(struct rig *rig, const char *text)
{
    put_checked(rig, ' ');
    for (; *text != 0; text++) {
        put_checked(rig, *text);
    }
}

void rig_out_unsigned(struct rig *rig, uint32_t value)
{
    put_checked(rig, ' ');
    put_number(rig, value, false);
}

void rig_out_signed(struct rig *rig, int32_t value)
{
    uint32_t bits = (uint32_t)value;
    put_checked(rig, ' ');
    put_number(rig, value < 0 ? 0u - bits : bits, value < 0);
}

void rig_out_end(struct rig *rig)
{
    uint16_t check = rig->check;
    put(rig, ' ');
    for (uint8_t i = 0; i < 4u; i++) {
        uint8_t digit = (uint8_t)(check >> 12);
        put(rig, (char)(digit < 10u ? '0' + digit : 'a' + digit - 10));
        check = (uint16_t)(check << 4);
    }
    put(rig, (char)RIG_END_BYTE);
    rig->keeping = false;
}

void rig_out_again(struct rig *rig)
{
    for (uint8_t i = 0; i < rig->memory.reply_length; i++) {
        put(rig, rig->memory.reply[i]);
    }
}
