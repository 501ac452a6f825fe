// Registers of the processor and of its two timers (Arm's CMSDK, as on the MPS2 board)
#ifndef REGISTERS_H
#define REGISTERS_H

#include <stdint.h>

/// Interrupts ///

// Numbers of the lines; sums of bits below. The first two belong to the timers, the rest
// to the board, which raises them.
#define STEP_LINE 8u
#define CLOCK_LINE 9u
#define RECEIVE_LINE 16u
#define SEND_LINE 17u
#define INPUT_LINE 18u
#define DRIVE_LINE 19u

#define STEP_INTERRUPT (UINT32_C(1) << STEP_LINE)
#define CLOCK_INTERRUPT (UINT32_C(1) << CLOCK_LINE)
#define RECEIVE_INTERRUPT (UINT32_C(1) << RECEIVE_LINE)
#define SEND_INTERRUPT (UINT32_C(1) << SEND_LINE)
#define INPUT_INTERRUPT (UINT32_C(1) << INPUT_LINE)
#define DRIVE_INTERRUPT (UINT32_C(1) << DRIVE_LINE)

#define RIG_INTERRUPTS                                                                 \
    (STEP_INTERRUPT | CLOCK_INTERRUPT | RECEIVE_INTERRUPT | SEND_INTERRUPT             \
     | INPUT_INTERRUPT | DRIVE_INTERRUPT)

// Priority of all of them: urgent, but not most urgent
#define RIG_PRIORITY 0x40u

#define INTERRUPTS_ON (*(volatile uint32_t *)0xE000E100u)
#define INTERRUPTS_OFF (*(volatile uint32_t *)0xE000E180u)
#define INTERRUPTS_PEND (*(volatile uint32_t *)0xE000E200u)
#define INTERRUPTS_CLEAR_PENDING (*(volatile uint32_t *)0xE000E280u)
#define INTERRUPT_PRIORITY ((volatile uint8_t *)0xE000E400u)
// Of the system timer's exception
#define TICK_PRIORITY (*(volatile uint8_t *)0xE000ED23u)
#define RESET_CONTROL (*(volatile uint32_t *)0xE000ED0Cu)
#define RESET_NOW UINT32_C(0x05FA0004)

/// System timer ///

#define TICK_CONTROL (*(volatile uint32_t *)0xE000E010u)
#define TICK_RELOAD (*(volatile uint32_t *)0xE000E014u)
#define TICK_VALUE (*(volatile uint32_t *)0xE000E018u)
// Counting, with its exception, by the processor's clock
#define TICK_RUNS 7u

/// Timers ///

struct timer {
    volatile uint32_t control;
    volatile uint32_t value;
    volatile uint32_t reload;
    // Reads 1 while it is raised; a 1 written clears it
    volatile uint32_t interrupt;
};

// Counting, with its interrupt
#define TIMER_RUNS 9u

#define STEP_TIMER ((struct timer *)0x40000000u)
#define CLOCK_TIMER ((struct timer *)0x40001000u)

#endif
