// Decimal integers in and out; no division, which is slow on small chips
#include "internal.h"

#define DIGITS 10u

static const uint32_t RIG_ROM powers[DIGITS - 1u] = {
    1000000000u, 100000000u, 10000000u, 1000000u, 100000u, 10000u, 1000u, 100u, 10u};

static bool add_digit(uint32_t *magnitude, char digit)
{
    if (digit < '0' || digit > '9') {
        return false;
    }
    uint8_t value = (uint8_t)(digit - '0');
    // 4294967295 is the greatest
    if (*magnitude > 429496729u || (*magnitude == 429496729u && value > 5u)) {
        return false;
    }
    *magnitude = *magnitude * 10u + value;
    return true;
}

bool rig_number_read(const char *text, uint8_t length, int32_t *value)
{
    bool negative = length > 0 && text[0] == '-';
    uint8_t at = negative ? 1u : 0u;
    // One way to write each: no leading zero, no "-0"
    if (at == length || (text[at] == '0' && length > 1u)) {
        return false;
    }
    uint32_t magnitude = 0;
    for (; at < length; at++) {
        if (!add_digit(&magnitude, text[at])) {
            return false;
        }
    }
    if (magnitude > (negative ? 2147483648u : 2147483647u)) {
        return false;
    }
    // -2147483648 has no positive counterpart to negate
    *value = negative ? (int32_t)(-1 - (int32_t)(magnitude - 1u)) : (int32_t)magnitude;
    return true;
}

uint8_t rig_number_write(char *text, uint32_t magnitude, bool negative)
{
    uint8_t length = 0;
    if (negative) {
        text[length++] = '-';
    }
    bool leading = true;
    for (uint8_t i = 0; i < DIGITS - 1u; i++) {
        uint32_t power = port_rom_u32(&powers[i]);
        char digit = '0';
        while (magnitude >= power) {
            magnitude -= power;
            digit++;
        }
        if (digit != '0' || !leading) {
            text[length++] = digit;
            leading = false;
        }
    }
    text[length++] = (char)('0' + (char)magnitude);
    return length;
}
