//! Which access points on which wired jacks: every set there is.

/// For one room and one jack, in which draws the need is met.
pub(crate) type Meets = Vec<u64>;

/// A set of jacks and what it does for the rooms.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Set {
    /// Places of the jacks in their list, in order.
    pub(crate) jacks: Vec<usize>,
    /// Chance of the need, a room each.
    pub(crate) rooms: Vec<f64>,
    /// The least of them.
    pub(crate) least: f64,
    /// Their mean.
    pub(crate) mean: f64,
}

/// The best set of so many jacks.
///
/// A room has what its best jack gives it, in the same draw for all jacks, so that what they
/// share is shared. Sets are compared by the least room, then by the mean, then by what has to be `added` for them
/// (ports, injectors), then by the order of the jacks. Every set is looked at: of 12 jacks there are 924 at most.
/// `verify_placement_against_brute_force` checks it; `validate_covers` holds published vectors.
pub(crate) fn best(
    meets: &[Vec<Meets>],
    (jacks, count): (usize, usize),
    draws: usize,
    added: impl Fn(&[usize]) -> usize,
) -> Option<Set> {
    let mut chosen: Vec<usize> = (0..count).collect();
    if count == 0 || count > jacks || draws == 0 {
        return None;
    }
    let mut found: Option<(usize, usize, usize, Vec<usize>)> = None;
    loop {
        let (mut least, mut sum) = (usize::MAX, 0);
        for room in meets {
            let met = met(room, &chosen);
            least = least.min(met);
            sum += met;
        }
        let before = found.as_ref().map(|(l, s, a, _)| (*l, *s, *a));
        let better = match before {
            None => true,
            Some((l, s, a)) if (l, s) == (least, sum) => added(&chosen) < a,
            Some((l, s, _)) => (least, sum) > (l, s),
        };
        if better {
            found = Some((least, sum, added(&chosen), chosen.clone()));
        }
        if !next(&mut chosen, jacks) {
            break;
        }
    }
    let (_, _, _, jacks) = found?;
    let rooms: Vec<f64> = meets
        .iter()
        .map(|room| met(room, &jacks) as f64 / draws as f64)
        .collect();
    Some(Set {
        least: rooms.iter().copied().fold(f64::INFINITY, f64::min),
        mean: rooms.iter().sum::<f64>() / rooms.len().max(1) as f64,
        jacks,
        rooms,
    })
}

/// In how many draws any of the chosen jacks meets the need of a room.
pub(crate) fn met(room: &[Meets], chosen: &[usize]) -> usize {
    let words = room.first().map_or(0, Vec::len);
    (0..words)
        .map(|word| {
            let any = chosen
                .iter()
                .filter_map(|&jack| room.get(jack)?.get(word))
                .fold(0, |all, bits| all | bits);
            any.count_ones() as usize
        })
        .sum()
}

/// The next set of as many in order; none after the last.
fn next(chosen: &mut [usize], of: usize) -> bool {
    let count = chosen.len();
    for at in (0..count).rev() {
        if chosen[at] + (count - at) < of {
            let first = chosen[at] + 1;
            for (step, place) in chosen[at..].iter_mut().enumerate() {
                *place = first + step;
            }
            return true;
        }
    }
    false
}
