/* Builds of valves over a piston, one after another: a program written for nothing else, compiled.

   peer BUILDS < NUMBERS     of each valve its numbers in the order of `struct valve`, then its pockets: how many,
                             and each one's centre, axis, radius and sunk

   Every build moves each number by up to a thousandth of itself, closes the rocker on its valve, takes the pushrod
   that the plunger asks for, and looks for the least drop at five crank angles about the one it is given, and at
   the lowest point of the parabola through the lowest three: slider-crank, lobe by the 4-5-6-7 law, rocker's
   closure, and the head over a plain crown, over a pocket's floor, or its rim along its lines into pockets, about
   the turn where the engine as it was given is closest. Prints the least drop of every valve as it was given, and
   the processor seconds that a build took. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

typedef struct { double x, y, z; } vec;
struct gear {
    vec seat, up, shaft, axis;
    double valve_arm, pushrod_arm, arm_angle, valve_station, pushrod_station, tip_radius;
    vec tip, stem;
    double down;
};
struct valve {
    double throw_, conrod, offset;      /* offset: towards the side to which the throw turns first */
    double peak, half, at;              /* of the lobe: mm, cam rad, crank rad */
    double least_at;                    /* crank rad */
    struct gear gear;
    vec centre, stem;                   /* of the head, in the piston's frame at its highest point */
    double radius;
};
struct pocket { vec centre, axis; double radius, sunk; };
struct pose { vec cup_dir, cup_moves, turn, valve_dir, valve_moves; double length; };

enum { NUMBERS = sizeof(struct valve) / sizeof(double), OF_POCKET = sizeof(struct pocket) / sizeof(double) };
enum { POCKETS = 4, VALVES = 64, RIM = 48, CLOSER = 4 };
static const double STEP = 0.0349, SPACING = 2 * M_PI / RIM;

static vec plus(vec a, double by, vec b) { return (vec){a.x + by * b.x, a.y + by * b.y, a.z + by * b.z}; }
static vec times(double by, vec a) { return (vec){by * a.x, by * a.y, by * a.z}; }
static double dot(vec a, vec b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
static vec cross(vec a, vec b) { return (vec){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x}; }
static double norm(vec a) { return sqrt(dot(a, a)); }
static vec unit(vec a) { return times(1 / norm(a), a); }

static double descent(const struct valve *v, double angle) {
    double whole = v->conrod + v->throw_, turned = angle + asin(v->offset / whole);
    double across = v->offset - v->throw_ * sin(turned);
    double high = v->throw_ * cos(turned) + sqrt((v->conrod - across) * (v->conrod + across));
    return sqrt((whole - v->offset) * (whole + v->offset)) - high;
}

static double lobe(const struct valve *v, double crank) {
    double cam = (crank - v->at) / 2;
    cam -= 2 * M_PI * rint(cam / (2 * M_PI));
    double x = 1 - fabs(cam) / v->half;
    return x > 0 ? v->peak * x * x * x * x * (35 - x * (84 - x * (70 - 20 * x))) : 0.0;
}

static struct pose closed(const struct gear *g) {
    struct pose p;
    vec square = plus(g->stem, -dot(g->stem, g->axis), g->axis);
    double size = norm(square);
    vec towards = times(1 / size, square), station = plus(g->shaft, g->valve_station, g->axis);
    vec from_tip = plus(station, -1, g->tip);
    double share = (g->tip_radius - dot(g->stem, from_tip)) / (g->valve_arm * size);
    vec base = times(share, towards), swing = times(sqrt((1 - share) * (1 + share)), cross(g->axis, towards));
    vec one = plus(base, 1, swing), other = plus(base, -1, swing);
    int first = norm(plus(from_tip, g->valve_arm, one)) <= norm(plus(from_tip, g->valve_arm, other));
    p.valve_dir = first ? one : other;
    p.turn = times(cross(g->axis, p.valve_dir).z > 0 ? -1 : 1, g->axis);
    p.valve_moves = cross(p.turn, p.valve_dir);
    p.cup_dir = plus(times(cos(g->arm_angle), p.valve_dir), sin(g->arm_angle), p.valve_moves);
    p.cup_moves = cross(p.turn, p.cup_dir);
    vec cup = plus(plus(g->shaft, g->pushrod_station, g->axis), g->pushrod_arm, p.cup_dir);
    p.length = norm(plus(plus(cup, -1, g->seat), g->down, g->up));
    return p;
}

static double lift(const struct gear *g, const struct pose *p, double lifter) {
    double rise = lifter - g->down, arm = g->pushrod_arm;
    vec start = plus(plus(g->seat, -1, g->shaft), -g->pushrod_station, g->axis), ball = plus(start, rise, g->up);
    double alpha = dot(p->cup_dir, ball), beta = dot(p->cup_moves, ball), axial = dot(p->turn, ball);
    double radial = alpha * alpha + beta * beta;
    double kappa = (radial + axial * axial + arm * arm - p->length * p->length) / (2 * arm);
    double slope = copysign(sqrt(radial - kappa * kappa), dot(p->cup_moves, plus(start, -g->down, g->up)));
    double cosine = (alpha * kappa + beta * slope) / radial, sine = (beta * kappa - alpha * slope) / radial;
    double open = -g->valve_arm * ((cosine - 1) * dot(g->stem, p->valve_dir) + sine * dot(g->stem, p->valve_moves));
    return open > 0 ? open : 0.0;
}

/* The way down along the stem from a point of the rim to the first metal. */
static double metal(vec from, vec stem, const struct pocket *pockets, int count) {
    double way = from.z / stem.z;
    for (int again = 0; again < count; again++)
        for (int i = 0; i < count; i++) {
            const struct pocket *one = &pockets[i];
            vec off = plus(from, -1, one->centre);
            double along = dot(off, one->axis), slope = dot(stem, one->axis);
            vec aside = plus(off, -along, one->axis), runs = plus(times(-1, stem), slope, one->axis);
            double a = dot(runs, runs), b = dot(aside, runs), c = dot(aside, aside) - one->radius * one->radius;
            double begins = -INFINITY, ends = (along + one->sunk) / slope;
            if (a < 1e-14) {
                if (c > 0) continue;
            } else {
                double root = b * b - a * c;
                if (root < 0) continue;
                root = sqrt(root);
                begins = (-b - root) / a;
                ends = fmin(ends, (-b + root) / a);
            }
            if (way >= begins && way < ends) way = ends;
        }
    return way;
}

static int inside(vec at, const struct pocket *one) {
    vec off = plus(at, -1, one->centre);
    double along = dot(off, one->axis);
    return along + one->sunk > 1e-9 && norm(plus(off, -along, one->axis)) < one->radius - 1e-9;
}

/* The way to a pocket's floor where the whole face stays within that pocket down to it; NAN where it does not. */
static double to_floor(const struct valve *v, vec centre, const struct pocket *pockets, int count, int index) {
    const struct pocket *one = &pockets[index];
    vec off = plus(plus(centre, -1, one->centre), one->sunk, one->axis);
    double cosine = dot(v->stem, one->axis), risen = (centre.z - v->radius * hypot(v->stem.x, v->stem.y)) / v->stem.z;
    vec aslant = plus(times(cosine, v->stem), -1, one->axis);
    double sine = norm(aslant), down = (dot(off, one->axis) - v->radius * sine) / cosine;
    double ways[2] = {down, fmin(risen, down)};
    if (cosine <= 0 || down < risen) return NAN;
    for (int i = 0; i < 2; i++) {
        vec at = plus(off, -ways[i], v->stem);
        if (norm(plus(at, -dot(at, one->axis), one->axis)) + v->radius > one->radius) return NAN;
    }
    vec meets = plus(plus(centre, v->radius / fmax(sine, 1e-12), aslant), -down, v->stem);
    for (int i = 0; i < count; i++) if (i != index && inside(meets, &pockets[i])) return NAN;
    return down;
}

struct looked { const struct valve *v; vec centre, aside, square; const struct pocket *pockets; int count; };

static double at_rim(const struct looked *l, double turn) {
    vec out = plus(times(l->v->radius * cos(turn), l->aside), l->v->radius * sin(turn), l->square);
    return metal(plus(l->centre, 1, out), l->v->stem, l->pockets, l->count);
}

/* The drop; place: about which turn of the rim it is looked for, NAN where all of it is, and where it was found. */
static double drop(const struct valve *v, double fallen, const struct pocket *pockets, int count, double *place) {
    struct looked l = {v, {v->centre.x, v->centre.y, v->centre.z + fallen}, {0, 0, 0}, {0, 0, 0}, pockets, count};
    if (!count) return (l.centre.z - v->radius * hypot(v->stem.x, v->stem.y)) / v->stem.z;
    for (int i = 0; i < count; i++) {
        double way = to_floor(v, l.centre, pockets, count, i);
        if (way == way) return way;
    }
    l.aside = unit(cross(fabs(v->stem.x) < 0.9 ? (vec){1, 0, 0} : (vec){0, 1, 0}, v->stem));
    l.square = cross(v->stem, l.aside);
    double least = INFINITY;
    if (*place == *place) least = at_rim(&l, *place);
    else for (int i = 0; i < RIM; i++) {
        double seen = at_rim(&l, i * SPACING);
        if (seen < least) least = seen, *place = i * SPACING;
    }
    for (double step = SPACING / 2, i = 0; i < CLOSER; i++, step /= 4) {
        double before = at_rim(&l, *place - step), after = at_rim(&l, *place + step);
        double bend = before - 2 * least + after;
        double best = *place + (bend > 0 ? step / 2 * (before - after) / bend : before < after ? -step : step);
        double seen = at_rim(&l, best);
        if (before < least) least = before, *place -= step;
        else if (after < least) least = after, *place += step;
        if (seen < least) least = seen, *place = best;
    }
    return least;
}

static double opened(const struct valve *v, const struct pose *p, double angle, const struct pocket *pockets,
                     int count, double *place) {
    return drop(v, descent(v, angle), pockets, count, place) - lift(&v->gear, p, lobe(v, angle));
}

static double least_drop(const struct valve *v, const struct pocket *pockets, int count, double *place) {
    struct pose p = closed(&v->gear);
    double seen[5];
    int low = 1;
    for (int i = 0; i < 5; i++) seen[i] = opened(v, &p, v->least_at + (i - 2) * STEP, pockets, count, place);
    for (int i = 1; i < 4; i++) if (seen[i] < seen[low]) low = i;
    double bend = seen[low - 1] - 2 * seen[low] + seen[low + 1];
    double away = bend > 0 ? (seen[low - 1] - seen[low + 1]) / (2 * bend) : 0;
    double last = opened(v, &p, v->least_at + (low - 2 + away) * STEP, pockets, count, place);
    return last < seen[low] ? last : seen[low];
}

static uint64_t state = 88172645463325252ULL;
static double moved(double number) {
    state ^= state << 13, state ^= state >> 7, state ^= state << 17;
    return number * (1 + 1e-3 * ((double)(state >> 11) * 0x1p-52 - 1));
}

static void read_numbers(double *into, int count) {
    for (int i = 0; i < count; i++)
        if (scanf("%lf", &into[i]) != 1) exit(2);
}

int main(int argc, char **argv) {
    static struct valve given[VALVES];
    static struct pocket cut[VALVES][POCKETS];
    static int cuts[VALVES];
    static double places[VALVES];
    double first;
    int valves = 0;
    while (valves < VALVES && scanf("%lf", &first) == 1) {
        double *numbers = (double *)&given[valves];
        numbers[0] = first;
        read_numbers(numbers + 1, NUMBERS - 1);
        read_numbers(&first, 1);
        if ((cuts[valves] = (int)first) > POCKETS) return 2;
        for (int i = 0; i < cuts[valves]; i++) read_numbers((double *)&cut[valves][i], OF_POCKET);
        valves++;
    }
    long builds = argc > 1 ? atol(argv[1]) : 1;
    printf("{\"least\": [");
    for (int i = 0; i < valves; i++) {
        places[i] = NAN;
        printf("%s%.9f", i ? ", " : "", least_drop(&given[i], cut[i], cuts[i], &places[i]));
    }
    double sum = 0;
    clock_t started = clock();
    for (long n = 0; n < builds; n++)
        for (int i = 0; i < valves; i++) {
            struct valve here;
            struct pocket there[POCKETS];
            const double *from = (const double *)&given[i];
            for (int k = 0; k < NUMBERS; k++) ((double *)&here)[k] = moved(from[k]);
            here.least_at = given[i].least_at;
            here.gear.up = unit(here.gear.up), here.gear.axis = unit(here.gear.axis);
            here.gear.stem = unit(here.gear.stem), here.stem = unit(here.stem);
            for (int j = 0; j < cuts[i]; j++) {
                for (int k = 0; k < OF_POCKET; k++) ((double *)&there[j])[k] = moved(((double *)&cut[i][j])[k]);
                there[j].axis = unit(there[j].axis);
            }
            double place = places[i];
            sum += least_drop(&here, there, cuts[i], &place);
        }
    double taken = (double)(clock() - started) / CLOCKS_PER_SEC;
    printf("], \"mean\": %.6f, \"seconds\": %.9g}\n", sum / builds, taken / builds);
    return 0;
}
