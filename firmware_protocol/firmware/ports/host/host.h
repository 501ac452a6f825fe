// The core on a simulated bench: what tests written in C look into
#ifndef HOST_H
#define HOST_H

#include "bench.h"
#include "rig.h"

// The controller inside; valid until the bench is freed
struct rig *host_rig(struct bench *bench);

#endif
