// Quantities that are read, and controls that are set; SPEC.md 7
#include "internal.h"

_Static_assert(RIG_SUPPLY_LOW_MV >= 0 && RIG_SUPPLY_LOW_MV <= RIG_SUPPLY_START_MV
                   && RIG_SUPPLY_START_MV <= RIG_SUPPLY_HIGH_MV
                   && RIG_SUPPLY_HIGH_MV <= INT32_MAX,
               "RIG_SUPPLY_START_MV must lie from RIG_SUPPLY_LOW_MV to RIG_SUPPLY_HIGH_MV");

static bool is_in(uint8_t sum, int32_t number)
{
    return number < 8 && (sum & (1u << (unsigned)number)) != 0;
}

uint8_t rig_quantities(const struct rig *rig)
{
    uint8_t scale = (uint8_t)(1u << RIG_QUANTITY_SCALE);
    uint8_t others = (uint8_t)(rig->identity.quantities & ~scale);
    return rig_has_scale(rig) ? others | scale : others;
}

bool rig_has_quantity(const struct rig *rig, int32_t quantity)
{
    return is_in(rig_quantities(rig), quantity);
}

int32_t rig_quantity(struct rig *rig, uint8_t quantity)
{
    if (quantity != RIG_QUANTITY_SCALE) {
        return port_read(rig, quantity);
    }
    // Both of one instant: `home` may end in between
    port_lock_t lock = port_lock(rig);
    uint32_t count = port_scale(rig) - rig->scale_zero;
    port_unlock(rig, lock);
    return (int32_t)count;
}

bool rig_has_control(const struct rig *rig, int32_t control)
{
    return is_in(rig->identity.controls, control);
}

static bool fits(int32_t control, int32_t value)
{
    if (control == RIG_CONTROL_SENSOR_SUPPLY) {
        return value == 0 || value == 1;
    }
    return value >= RIG_SUPPLY_LOW_MV && value <= RIG_SUPPLY_HIGH_MV;
}

bool rig_control_put(struct rig *rig, int32_t control, int32_t value, uint32_t *time_us)
{
    if (!fits(control, value)) {
        return false;
    }
    port_lock_t lock = port_lock(rig);
    if (control == RIG_CONTROL_SENSOR_SUPPLY) {
        rig->supply_off = value == 0;
        // Its loss counts once it has been seen
        rig->supplied = false;
    }
    port_put(rig, (uint8_t)control, value);
    *time_us = port_time_us(rig);
    port_unlock(rig, lock);
    return true;
}

void rig_controls_start(struct rig *rig)
{
    if (rig_has_control(rig, RIG_CONTROL_SUPPLY_VOLTAGE)) {
        port_put(rig, RIG_CONTROL_SUPPLY_VOLTAGE, RIG_SUPPLY_START_MV);
    }
    if (rig_has_control(rig, RIG_CONTROL_SENSOR_SUPPLY)) {
        port_put(rig, RIG_CONTROL_SENSOR_SUPPLY, 1);
    }
}
