use crate::allocate::{Demand, Problem, ProblemFault, Resource, Visit, fill};
use crate::quantity::{DataRate, Information, Measure, Ratio, Time, TimePerInformation, ratio};

/// What is left of a leg that counts as nothing, relative to its size: far above rounding.
const NOTHING: f64 = 1e-9;

/// A job as the rule for sharing sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// When it may begin.
    pub earliest: Time,
    /// When it has to be done.
    pub due: Option<Time>,
    /// What it moves, one after the other: a copy, then reading it back.
    pub legs: Vec<Leg>,
}

/// One part of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Leg {
    /// Bytes to move.
    pub size: Information,
    /// Its weight against others, and the rate that it is held to.
    pub demand: Demand,
    /// What it needs of each resource.
    pub visits: Vec<LegVisit>,
}

/// What a leg needs of a resource.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegVisit {
    /// Which resource.
    pub resource: usize,
    /// Seconds a byte.
    pub cost: TimePerInformation,
    /// Bytes between two moves of the heads; for heads only.
    pub turn: Option<Information>,
}

/// What became of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// When it was done; none if it never is.
    pub ends: Option<Time>,
    /// The share of its bytes that were moved when it was due; none without an hour.
    pub done_when_due: Option<Ratio>,
    /// What it waited for, the longest first.
    pub waits: Vec<Wait>,
}

/// How long a job was held by something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wait {
    /// A full resource; none while the job had the rate that it is held to.
    pub resource: Option<usize>,
    /// For how long.
    pub time: Time,
}

impl Course {
    /// Whether a job was done when it was due, to a millisecond.
    pub fn in_time(&self, due: Option<Time>) -> bool {
        let Some(due) = due else {
            return self.ends.is_some();
        };
        self.ends
            .is_some_and(|ends| ends <= due + crate::quantity::milliseconds(1.0))
    }
}

/// Between two events.
#[derive(Clone, Debug)]
pub struct Span<'a> {
    /// Since when.
    pub from: Time,
    /// Until when.
    pub to: Time,
    /// The jobs that run, each with the leg that it is at and its rate.
    pub running: &'a [(usize, usize, DataRate)],
}

/// A job under way.
struct Running {
    job: usize,
    leg: usize,
    /// Bytes of the leg that are left.
    left: f64,
    rate: f64,
    /// Whether the next event is its end.
    ends: bool,
}

/// Plays a day event by event and shows every span between two events to `watch`.
///
/// Jobs that run at the same time get weighted max-min fair rates by [`fill`]; an event is a job's
/// start, the end of a leg or the end of the day. Sizes over zero, times from midnight of the first
/// day. A job that gets nothing and waits for nobody never ends.
///
/// Where all jobs have one leg on one resource, another job never lets one end earlier. Over
/// several resources it may, by holding back somebody who was in the way, and so may one that
/// delays a leg.
///
/// # Errors
/// As [`fill`].
///
/// Source: fluid model of sharing, rates constant between events. Checked by
/// `validate_days_by_hand`, `property_bytes_moved_are_the_size`,
/// `property_another_job_on_one_resource_helps_nobody` and `another_job_elsewhere_can_help`.
pub fn play(
    resources: &[Resource],
    loads: &[Load],
    watch: &mut dyn FnMut(&Span<'_>),
) -> Result<Vec<Course>, ProblemFault> {
    let mut courses: Vec<Course> = loads.iter().map(Course::of).collect();
    let mut coming: Vec<usize> = (0..loads.len()).collect();
    let start = |job: usize| loads.get(job).map_or(f64::INFINITY, |l| l.earliest.base());
    coming.sort_by(|a, b| start(*b).total_cmp(&start(*a)));
    let mut moved = vec![0.0; loads.len()];
    let mut running: Vec<Running> = Vec::new();
    let mut now = coming.last().map_or(0.0, |job| start(*job));
    loop {
        while let Some(job) = coming.pop_if(|job| start(*job) <= now) {
            begin(job, 0, now, loads, &mut running, &mut courses);
        }
        let next = coming.last().map_or(f64::INFINITY, |job| start(*job));
        if running.is_empty() {
            if next.is_infinite() {
                return Ok(courses);
            }
            now = next;
            continue;
        }
        let binding = share(resources, loads, &mut running)?;
        let first = running.iter().map(Running::ends_in);
        let first = first.fold(f64::INFINITY, f64::min);
        let length = first.min(next - now);
        if length.is_infinite() {
            // whoever is left gets nothing, and nobody comes who could change it
            return Ok(courses);
        }
        let until = if next - now <= first {
            next
        } else {
            now + length
        };
        if until > now {
            show(now, until, &running, watch);
        }
        if first <= next - now {
            // those who are first end here, whatever rounding says, or nothing might ever happen
            for r in running.iter_mut().filter(|r| r.ends_in() <= first) {
                r.ends = true;
            }
        }
        advance(
            (now, until),
            (&mut running, &binding),
            loads,
            (&mut moved, &mut courses),
        );
        now = until;
        let (done, rest): (Vec<_>, Vec<_>) = running.into_iter().partition(|r| r.left <= 0.0);
        running = rest;
        for r in done {
            begin(r.job, r.leg + 1, now, loads, &mut running, &mut courses);
        }
    }
}

impl Course {
    fn of(load: &Load) -> Self {
        Self {
            ends: None,
            done_when_due: load.due.map(|_| ratio(0.0)),
            waits: Vec::new(),
        }
    }

    fn waited(&mut self, resource: Option<usize>, time: f64) {
        let time = Time::from_base(time);
        match self.waits.iter_mut().find(|w| w.resource == resource) {
            Some(wait) => wait.time += time,
            None => self.waits.push(Wait { resource, time }),
        }
    }
}

impl Running {
    fn ends_in(&self) -> f64 {
        if self.left <= 0.0 || self.rate.is_infinite() {
            0.0
        } else if self.rate <= 0.0 {
            f64::INFINITY
        } else {
            self.left / self.rate
        }
    }
}

/// Puts a leg on its way, or notes that a job has none left.
fn begin(
    job: usize,
    leg: usize,
    now: f64,
    loads: &[Load],
    running: &mut Vec<Running>,
    courses: &mut [Course],
) {
    let next = loads.get(job).and_then(|load| load.legs.get(leg));
    if let Some(next) = next {
        // in the order of the list, so that sums run in the same order whoever came first
        let at = running.partition_point(|r| r.job < job);
        let new = Running {
            job,
            leg,
            left: next.size.base(),
            rate: 0.0,
            ends: false,
        };
        running.insert(at, new);
        return;
    }
    if let (Some(course), Some(load)) = (courses.get_mut(job), loads.get(job)) {
        course.ends = Some(Time::from_base(now));
        course
            .waits
            .sort_by(|a, b| b.time.base().total_cmp(&a.time.base()));
        if load.due.is_some_and(|due| now <= due.base()) {
            course.done_when_due = Some(ratio(1.0));
        }
    }
}

/// Rates of all that run, and what binds each.
fn share(
    resources: &[Resource],
    loads: &[Load],
    running: &mut [Running],
) -> Result<Vec<Vec<usize>>, ProblemFault> {
    let mut problem = Problem {
        flows: Vec::with_capacity(running.len()),
        resources: resources.to_vec(),
        visits: Vec::new(),
    };
    for (flow, r) in running.iter().enumerate() {
        let Some(leg) = loads.get(r.job).and_then(|load| load.legs.get(r.leg)) else {
            continue;
        };
        problem.flows.push(leg.demand);
        problem.visits.extend(leg.visits.iter().map(|visit| Visit {
            flow,
            resource: visit.resource,
            cost: visit.cost,
            turn: visit.turn,
        }));
    }
    let allocation = fill(&problem)?;
    for (r, rate) in running.iter_mut().zip(&allocation.rates) {
        r.rate = rate.base();
    }
    Ok(allocation.binding)
}

fn show(from: f64, to: f64, running: &[Running], watch: &mut dyn FnMut(&Span<'_>)) {
    let of = |r: &Running| (r.job, r.leg, DataRate::from_base(r.rate));
    let all: Vec<(usize, usize, DataRate)> = running.iter().map(of).collect();
    watch(&Span {
        from: Time::from_base(from),
        to: Time::from_base(to),
        running: &all,
    });
}

/// Moves everybody on to the next event.
fn advance(
    (from, to): (f64, f64),
    (running, binding): (&mut [Running], &[Vec<usize>]),
    loads: &[Load],
    (moved, courses): (&mut [f64], &mut [Course]),
) {
    let length = to - from;
    for (r, bound) in running.iter_mut().zip(binding) {
        let (Some(load), Some(course), Some(moved)) = (
            loads.get(r.job),
            courses.get_mut(r.job),
            moved.get_mut(r.job),
        ) else {
            continue;
        };
        let size = load.legs.get(r.leg).map_or(0.0, |leg| leg.size.base());
        if r.rate.is_infinite() {
            *moved += r.left;
            r.left = 0.0;
            continue;
        }
        course.waited(bound.first().copied(), length);
        let due = load.due.map_or(f64::INFINITY, Measure::base);
        if from < due && due < to {
            let all: f64 = load.legs.iter().map(|leg| leg.size.base()).sum();
            let then = *moved + r.rate * (due - from);
            course.done_when_due = Some(ratio((then / all).min(1.0)));
        } else if to <= due {
            let all: f64 = load.legs.iter().map(|leg| leg.size.base()).sum();
            let then = *moved + r.rate * length;
            course.done_when_due = load.due.map(|_| ratio((then / all).min(1.0)));
        }
        *moved += r.rate * length;
        r.left -= r.rate * length;
        if r.ends || r.left <= size * NOTHING {
            r.left = 0.0;
        }
    }
}
