//! How long a day of jobs takes, and how long counting desks does.

use narrows_benches::{Doubtful, row_of_switches};
use narrows_core::catalogue::Catalogue;
use narrows_core::day::{Costs, Day, Job, Network, Paths, day, jobs, paths};
use narrows_core::quantity::{DataRate, Frequency, Time, percent, ratio, seconds, units};
use narrows_core::room::{Limits, Room, Stream, room};
use narrows_core::site::{Site, read};
use narrows_core::spread::{Draws, USUAL_DRAWS};
use std::fmt::Write;

fn main() {
    divan::main();
}

/// One case of many.
struct One<'a>(&'a Paths);

impl Network for One<'_> {
    fn cases(&self) -> usize {
        1
    }
    fn name(&self, resource: usize) -> String {
        self.0.name(resource)
    }
    fn at(&self, case: usize) -> Costs {
        self.0.at(case)
    }
}

/// Twenty desks with so many jobs, spread over a day or all at one hour, reading and writing, every fifth read back.
fn example(count: usize, spread: bool) -> (Site, Vec<Job>, Paths, Draws) {
    let catalogue = Catalogue::embedded().expect("the catalogue is sound");
    let text = row_of_switches(20, 12, Doubtful::Desks);
    let site = read(&text, &[], &catalogue).expect("the site is sound");
    let array = &site.arrays[0].name;
    let mut list = "what,size,from,to,earliest,due,read back\n".to_owned();
    for number in 0..count {
        let desk = &site.desks[number % site.desks.len()].name;
        let (hour, minute) = if spread {
            (number * 7 % 24, number * 13 % 60)
        } else {
            (20, 0)
        };
        let size = 5 + number * 37 % 60;
        let (from, to, back) = if number % 2 == 0 {
            (array, desk, "no")
        } else {
            (desk, array, if number % 5 == 0 { "yes" } else { "no" })
        };
        // writing to a string cannot fail
        let _ = writeln!(
            list,
            "job {number},{size} GB,{from},{to},{hour:02}:{minute:02},{hour:02}:{minute:02} +1,{back}"
        );
    }
    let (_, found) = jobs(list.as_bytes(), &site, &catalogue);
    let jobs = found.expect("the list is sound").jobs;
    let mut draws = Draws::new(USUAL_DRAWS);
    let ways = paths(&site, &jobs, &catalogue, &mut draws).expect("the site is sound");
    (site, jobs, ways, draws)
}

/// The fluid of one case, event by event.
#[divan::bench(args = [10, 100, 500])]
fn one_case(bencher: divan::Bencher, count: usize) {
    let (_, jobs, ways, mut draws) = example(count, true);
    bencher
        .bench_local(|| -> Day { day(&jobs, &One(&ways), &mut draws).expect("the day is sound") });
}

/// The same, all beginning at eight in the evening.
#[divan::bench(args = [10, 100, 500])]
fn one_case_at_once(bencher: divan::Bencher, count: usize) {
    let (_, jobs, ways, mut draws) = example(count, false);
    bencher
        .bench_local(|| -> Day { day(&jobs, &One(&ways), &mut draws).expect("the day is sound") });
}

/// All cases that are played of it.
#[divan::bench(args = [10, 100, 500], sample_count = 10)]
fn all_cases(bencher: divan::Bencher, count: usize) {
    let (_, jobs, ways, mut draws) = example(count, true);
    bencher.bench_local(|| -> Day { day(&jobs, &ways, &mut draws).expect("the day is sound") });
}

/// Desks of 880 Mb/s, let in one after another until one spell in eight hours.
#[divan::bench(args = [10, 25, 100])]
fn desks_on_so_many_gigabits(bencher: divan::Bencher, gigabits: u32) {
    let capacity = DataRate::new::<units::data_rate::gigabit_per_second>(f64::from(gigabits));
    let one = Stream {
        rate: DataRate::new::<units::data_rate::megabit_per_second>(880.0),
        active: percent(40.0),
        spell: seconds(20.0),
    };
    let day: Time = Time::new::<units::time::hour>(8.0);
    let spells: Frequency = ratio(1.0) / day;
    let limits = Limits {
        spells,
        chance: percent(0.1),
    };
    bencher.bench_local(|| -> Room { room(capacity, &[], one, limits).expect("it is sound") });
}
