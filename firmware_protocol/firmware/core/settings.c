// What a rig is built like, kept where it outlives the loss of power; SPEC.md 7
//
// Kept as a mark, the settings with their low bytes first, and a check over both.
#include "internal.h"

#define MARK 0x53u
// As memory is that was never written
#define ERASED 0xFFu
#define BYTES_EACH 4u
#define BLOCK_BYTES (1u + RIG_SETTING_COUNT * BYTES_EACH)

// Abilities that are no setting: what the board is
#define FIXED_ABILITIES                                                                \
    (RIG_ABILITY_FAST_RATE | RIG_ABILITY_SIMULATED | RIG_ABILITY_SETTINGS                \
     | RIG_ABILITY_SCALE)
#define KNOWN_ABILITIES                                                                \
    (FIXED_ABILITIES | RIG_ABILITY_TOUCH_PROBE | RIG_ABILITY_SUPPLY_SENSE              \
     | RIG_ABILITY_DRIVE_SENSE | RIG_ABILITY_ENABLE_OUTPUT)
#define REAL_INPUTS                                                                    \
    (RIG_INPUT_OUT | RIG_INPUT_PROBE | RIG_INPUT_HOME | RIG_INPUT_SUPPLY               \
     | RIG_INPUT_DRIVE)
// Slowest start whose interval fits half a turn of the step timer, and the fastest that
// leaves time to plan single steps
#define SLOWEST_START ((int32_t)(RIG_TICKS_PER_S / RIG_HALF_TURN + 1u))
#define FASTEST_START 2000
#define FARTHEST (INT32_C(1) << 29)

static const int32_t RIG_ROM built[RIG_SETTING_COUNT] = {
    [RIG_SETTING_STEPS_PER_M] = RIG_STEPS_PER_M,
    [RIG_SETTING_TRAVEL_LOW] = RIG_TRAVEL_LOW,
    [RIG_SETTING_TRAVEL_HIGH] = RIG_TRAVEL_HIGH,
    [RIG_SETTING_SPEED_LIMIT] = RIG_SPEED_LIMIT,
    [RIG_SETTING_ACCELERATION_LIMIT] = RIG_ACCELERATION_LIMIT,
    [RIG_SETTING_START_SPEED] = RIG_START_SPEED,
    [RIG_SETTING_HOME_CLEAR] = RIG_HOME_CLEAR,
    [RIG_SETTING_HOME_SEARCH] = RIG_HOME_SEARCH,
};

static bool is_token_character(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')
           || c == '.' || c == '-';
}

void rig_settings_name(const int32_t *settings, char *name)
{
    for (uint8_t i = 0; i < RIG_NAME_LENGTH; i++) {
        uint32_t four = (uint32_t)settings[RIG_SETTING_NAME_1 + i / BYTES_EACH];
        name[i] = (char)(uint8_t)(four >> (8u * (i % BYTES_EACH)));
    }
    name[RIG_NAME_LENGTH] = 0;
}

// Whether it is a token, filled up with 0
static bool is_name(const int32_t *settings)
{
    char name[RIG_NAME_LENGTH + 1u];
    rig_settings_name(settings, name);
    uint8_t length = 0;
    while (is_token_character(name[length])) {
        length++;
    }
    for (uint8_t i = length; i < RIG_NAME_LENGTH; i++) {
        if (name[i] != 0) {
            return false;
        }
    }
    return length != 0;
}

static bool is_travel(const int32_t *settings)
{
    int32_t high = settings[RIG_SETTING_TRAVEL_HIGH];
    return settings[RIG_SETTING_TRAVEL_LOW] > 0
           && settings[RIG_SETTING_TRAVEL_LOW] < high && high < FARTHEST
           && settings[RIG_SETTING_HOME_CLEAR] > 0
           && settings[RIG_SETTING_HOME_CLEAR] < settings[RIG_SETTING_HOME_SEARCH]
           && settings[RIG_SETTING_HOME_SEARCH] <= high;
}

static bool is_speed(const int32_t *settings)
{
    int32_t start = settings[RIG_SETTING_START_SPEED];
    int32_t acceleration = settings[RIG_SETTING_ACCELERATION_LIMIT];
    return start >= SLOWEST_START && start <= FASTEST_START
           && start <= settings[RIG_SETTING_SPEED_LIMIT]
           && settings[RIG_SETTING_SPEED_LIMIT] <= RIG_SPEED_LIMIT && acceleration > 0
           && acceleration <= RIG_ACCELERATION_LIMIT && acceleration / 10 <= start * start;
}

static bool fit(const int32_t *settings)
{
    return settings[RIG_SETTING_STEPS_PER_M] >= 2000 && is_travel(settings)
           && is_speed(settings)
           && (settings[RIG_SETTING_ABILITIES] & ~KNOWN_ABILITIES) == 0
           && (settings[RIG_SETTING_HIGH_INPUTS] & ~REAL_INPUTS) == 0
           && settings[RIG_SETTING_SERIAL] >= 0 && is_name(settings);
}

/// Keeping ///

static uint8_t byte_of(const int32_t *settings, uint8_t at)
{
    if (at == 0) {
        return MARK;
    }
    uint8_t index = (uint8_t)((uint8_t)(at - 1u) / BYTES_EACH);
    uint8_t shift = (uint8_t)(8u * ((uint8_t)(at - 1u) % BYTES_EACH));
    return (uint8_t)((uint32_t)settings[index] >> shift);
}

static void keep(struct rig *rig)
{
    uint16_t check = RIG_CHECK_START;
    for (uint8_t at = 0; at < BLOCK_BYTES; at++) {
        uint8_t byte = byte_of(rig->settings, at);
        check = rig_check_add(check, byte);
        port_keep(rig, at, byte);
    }
    port_keep(rig, BLOCK_BYTES, (uint8_t)(check >> 8));
    port_keep(rig, BLOCK_BYTES + 1u, (uint8_t)check);
}

static void take_built(struct rig *rig)
{
    for (uint8_t i = 0; i < RIG_SETTING_COUNT; i++) {
        rig->settings[i] = (int32_t)port_rom_u32(&built[i]);
    }
    rig->settings[RIG_SETTING_ABILITIES] = rig->identity.abilities;
    rig->settings[RIG_SETTING_HIGH_INPUTS] = rig->identity.high_inputs;
    static const char RIG_ROM name[] = RIG_NAME;
    for (uint8_t i = 0; i < sizeof name - 1u; i++) {
        uint32_t letter = port_rom_u8(name + i);
        rig->settings[RIG_SETTING_NAME_1 + i / BYTES_EACH] |=
            (int32_t)(letter << (8u * (i % BYTES_EACH)));
    }
}

bool rig_settings_load(struct rig *rig)
{
    uint16_t check = RIG_CHECK_START;
    for (uint8_t i = 0; i < RIG_SETTING_COUNT; i++) {
        rig->settings[i] = 0;
    }
    for (uint8_t at = 0; at < BLOCK_BYTES; at++) {
        uint8_t byte = port_kept(rig, at);
        check = rig_check_add(check, byte);
        if (at != 0) {
            rig->settings[(uint8_t)(at - 1u) / BYTES_EACH] |=
                (int32_t)((uint32_t)byte << (8u * ((uint8_t)(at - 1u) % BYTES_EACH)));
        }
    }
    uint16_t kept = (uint16_t)(port_kept(rig, BLOCK_BYTES) << 8);
    kept |= port_kept(rig, BLOCK_BYTES + 1u);
    uint8_t mark = port_kept(rig, 0);
    if (mark == MARK && kept == check && fit(rig->settings)) {
        return true;
    }
    take_built(rig);
    if (mark == ERASED) {
        // The first start of all
        rig->settings[RIG_SETTING_SERIAL] = (int32_t)(port_random(rig) & INT32_MAX);
        keep(rig);
        return true;
    }
    return false;
}

/// Changing ///

uint8_t rig_settings_of(uint8_t trait)
{
    if (trait <= RIG_TRAIT_START_SPEED) {
        return (uint8_t)(RIG_SETTING_STEPS_PER_M + trait);
    }
    if (trait == RIG_TRAIT_ABILITIES) {
        return RIG_SETTING_ABILITIES;
    }
    if (trait == RIG_TRAIT_HOME_CLEAR || trait == RIG_TRAIT_HOME_SEARCH) {
        return (uint8_t)(RIG_SETTING_HOME_CLEAR + (trait - RIG_TRAIT_HOME_CLEAR));
    }
    if (trait >= RIG_TRAIT_HIGH_INPUTS && trait <= RIG_TRAIT_NAME_4) {
        return (uint8_t)(RIG_SETTING_HIGH_INPUTS + (trait - RIG_TRAIT_HIGH_INPUTS));
    }
    return RIG_SETTING_COUNT;
}

bool rig_settings_set(struct rig *rig, uint8_t setting, int32_t value)
{
    int32_t before = rig->settings[setting];
    bool allowed = setting != RIG_SETTING_ABILITIES
                   || ((value ^ before) & FIXED_ABILITIES) == 0;
    rig->settings[setting] = value;
    if (!allowed || !fit(rig->settings)) {
        rig->settings[setting] = before;
        return false;
    }
    keep(rig);
    return true;
}
