//! Work shared among the processors of the machine; what is found does not depend on how many there are.
//!
//! Where the machine has no room for one more thread, those that there are do its share.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::{Builder, Scope, ScopedJoinHandle, scope};

/// How many threads this machine runs at once; one where it does not say.
#[must_use]
pub fn processors() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// What each number below `count` gives, in their order, on so many workers at most.
///
/// Every worker starts with `start` and takes the next number that nobody has taken, until there is none or `work`
/// gives nothing, which ends that worker.
///
/// Checked by `verify_numbers_come_in_order_on_any_number_of_workers`.
pub(crate) fn each<State, Found: Send>(
    count: usize,
    workers: usize,
    start: impl Fn() -> State + Sync,
    work: impl Fn(&mut State, usize) -> Option<Found> + Sync,
) -> Vec<Found> {
    let next = AtomicUsize::new(0);
    let share = || {
        let mut state = start();
        let mut found = Vec::new();
        loop {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number >= count {
                return found;
            }
            let Some(one) = work(&mut state, number) else {
                return found;
            };
            found.push((number, one));
        }
    };
    let mut found = scope(|threads| {
        let others: Vec<_> = (1..workers.min(count))
            .map_while(|_| Builder::new().spawn_scoped(threads, share).ok())
            .collect();
        let mut found = share();
        for other in others {
            found.extend(joined(other));
        }
        found
    });
    found.sort_by_key(|(number, _)| *number);
    found.into_iter().map(|(_, one)| one).collect()
}

/// What `own` gives on this thread, and what each of the others gives on a thread of its own meanwhile, in their order.
///
/// Checked by `verify_parts_come_in_order`.
pub(crate) fn beside<Own, Part: Sync, Found: Send>(
    own: impl FnOnce() -> Own,
    others: &[Part],
    work: impl Fn(&Part) -> Found + Sync,
) -> (Own, Vec<Found>) {
    let work = &work;
    scope(|threads| {
        let begun: Vec<_> = others
            .iter()
            .map(|part| Aside::begin(threads, move || work(part)))
            .collect();
        let own = own();
        (own, begun.into_iter().map(Aside::done).collect())
    })
}

/// One piece of work that goes on aside.
#[derive(Debug)]
pub struct Aside<'scope, Found, Work> {
    /// None where the machine had no room for one more.
    thread: Option<ScopedJoinHandle<'scope, Found>>,
    work: Work,
}

impl<'scope, Found: Send + 'scope, Work> Aside<'scope, Found, Work>
where
    Work: FnOnce() -> Found + Send + Copy + 'scope,
{
    /// Begins it.
    pub fn begin(threads: &'scope Scope<'scope, '_>, work: Work) -> Self {
        Self {
            thread: Builder::new().spawn_scoped(threads, work).ok(),
            work,
        }
    }

    /// What it found, once it is done; worked out here where no thread could be had.
    ///
    /// # Panics
    /// Where the work did.
    pub fn done(self) -> Found {
        self.thread.map_or_else(self.work, joined)
    }
}

/// What a thread found; a fault of the program goes on in the thread that asked.
fn joined<T>(thread: ScopedJoinHandle<'_, T>) -> T {
    thread
        .join()
        .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verify_numbers_come_in_order_on_any_number_of_workers() {
        for workers in [0, 1, 2, 5, 400] {
            let found = each(
                300,
                workers,
                || 0_usize,
                |done, n| {
                    *done += 1;
                    Some(n * n)
                },
            );
            assert_eq!(found, (0..300).map(|n| n * n).collect::<Vec<_>>());
        }
        assert!(each(0, 4, || (), |(), n| Some(n)).is_empty());
    }

    #[test]
    fn verify_who_has_enough_stops() {
        let found = each(100, 1, || (), |(), n| (n < 7).then_some(n));
        assert_eq!(found, (0..7).collect::<Vec<_>>());
    }

    #[test]
    fn verify_parts_come_in_order() {
        let (own, found) = beside(|| 1, &[2, 3, 4], |n| n * 10);
        assert_eq!((own, found), (1, vec![20, 30, 40]));
    }

    #[test]
    fn verify_without_a_thread_it_is_done_here() {
        let aside = Aside {
            thread: None,
            work: || 7,
        };
        assert_eq!(aside.done(), 7);
    }

    #[test]
    #[should_panic(expected = "a fault of the program")]
    fn verify_a_fault_on_a_thread_is_told() {
        beside(|| (), &[0], |n| assert_ne!(*n, 0, "a fault of the program"));
    }
}
