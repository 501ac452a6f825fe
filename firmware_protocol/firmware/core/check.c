// The check of a line: CRC-16, polynomial 0x1021, not reflected; SPEC.md 4
#include "internal.h"

// The polynomial's taps are written out, so another one needs other code
_Static_assert(RIG_CHECK_POLYNOMIAL == 0x1021u, "rig_check_add is for 0x1021");

uint16_t rig_check_add(uint16_t check, uint8_t byte)
{
    uint8_t x = (uint8_t)((uint8_t)(check >> 8) ^ byte);
    x = (uint8_t)(x ^ (x >> 4));
    uint16_t shifted = (uint16_t)(check << 8);
    shifted = (uint16_t)(shifted ^ ((uint16_t)x << 12));
    shifted = (uint16_t)(shifted ^ ((uint16_t)x << 5));
    return (uint16_t)(shifted ^ x);
}
