//! Who gets what at the least cost: one column at most a row, every row one.

/// A cost in whole steps, so that equal sums are equal.
pub(super) type Cost = i128;

/// Above every cost that can be paid, far below overflow when rows of it are added up.
const NEVER: Cost = 1 << 100;

/// The column of each row so that the costs add up to the least; `None` where a row has no pair
/// left. Pairs without a cost are forbidden.
///
/// Where not every row can have a column, as many as can have one do. Of equally cheap
/// assignments the one that is found first counts, which depends on the order of rows and columns
/// only.
///
/// `costs[row][column]` in any unit; rows may have fewer columns than there are, and there may be
/// more columns than rows or fewer. Time grows with rows times rows times columns.
/// Assumptions: costs add up, and lie between zero and 2^90. Errors: none.
/// Source: Kuhn, Naval Research Logistics Quarterly 2 (1955) 83; potentials and shortest paths as in
/// Edmonds and Karp, Journal of the ACM 19 (1972) 248, section 1.3.
/// Checked by `property_no_assignment_is_cheaper_than_the_one_found`,
/// `validate_the_cheapest_of_four_by_four`.
pub(super) fn assign(costs: &[Vec<Option<Cost>>]) -> Vec<Option<usize>> {
    let rows = costs.len();
    let wide = costs.iter().map(Vec::len).max().unwrap_or(0);
    // a forbidden pair stands in where a row finds no other
    let columns = wide.max(rows);
    let cost = |row: usize, column: usize| {
        let known = costs.get(row).and_then(|row| row.get(column));
        known.copied().flatten().unwrap_or(NEVER)
    };
    let mut of_row: Vec<Cost> = vec![0; rows];
    let mut of_column: Vec<Cost> = vec![0; columns];
    let mut holder: Vec<Option<usize>> = vec![None; columns];
    for start in 0..rows {
        // a shortest way from a free row to a free column; columns on it change hands
        let mut distance: Vec<Cost> = vec![Cost::MAX; columns];
        let mut before: Vec<Option<usize>> = vec![None; columns];
        let mut seen = vec![false; columns];
        let mut at: Option<usize> = None;
        let mut row = start;
        let mut end = None;
        for _ in 0..columns {
            let walked = at.map_or(0, |column| distance[column]);
            let mut next: Option<usize> = None;
            for column in 0..columns {
                if seen[column] {
                    continue;
                }
                let way = walked + cost(row, column) - of_row[row] - of_column[column];
                if way < distance[column] {
                    distance[column] = way;
                    before[column] = at;
                }
                if next.is_none_or(|best| distance[column] < distance[best]) {
                    next = Some(column);
                }
            }
            let Some(column) = next else { break };
            seen[column] = true;
            at = Some(column);
            let Some(other) = holder[column] else {
                end = Some(column);
                break;
            };
            row = other;
        }
        let Some(end) = end else { continue };
        let whole = distance[end];
        of_row[start] += whole;
        for column in 0..columns {
            if seen[column] && column != end {
                let change = whole - distance[column];
                of_column[column] -= change;
                if let Some(row) = holder[column] {
                    of_row[row] += change;
                }
            }
        }
        let mut column = end;
        while let Some(earlier) = before[column] {
            holder[column] = holder[earlier];
            column = earlier;
        }
        holder[column] = Some(start);
    }
    let mut found = vec![None; rows];
    for (column, holder) in holder.iter().enumerate() {
        if let Some(row) = *holder
            && cost(row, column) < NEVER
        {
            found[row] = Some(column);
        }
    }
    found
}

/// What an assignment costs; rows without a column cost nothing.
pub(super) fn sum(costs: &[Vec<Option<Cost>>], found: &[Option<usize>]) -> Cost {
    let each = costs.iter().zip(found);
    each.filter_map(|(row, column)| row.get((*column)?).copied().flatten())
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn all_allowed(rows: &[&[Cost]]) -> Vec<Vec<Option<Cost>>> {
        let row = |row: &&[Cost]| row.iter().copied().map(Some).collect();
        rows.iter().map(row).collect()
    }

    /// Most rows with a column, then the least sum, by trying everything.
    fn by_trying(costs: &[Vec<Option<Cost>>], row: usize, taken: &mut Vec<usize>) -> (usize, Cost) {
        let Some(mine) = costs.get(row) else {
            return (0, 0);
        };
        let mut best = by_trying(costs, row + 1, taken);
        for (column, cost) in mine.iter().enumerate() {
            let (Some(cost), false) = (cost, taken.contains(&column)) else {
                continue;
            };
            taken.push(column);
            let (count, rest) = by_trying(costs, row + 1, taken);
            taken.pop();
            let (count, whole) = (count + 1, rest + cost);
            if count > best.0 || (count == best.0 && whole < best.1) {
                best = (count, whole);
            }
        }
        best
    }

    #[test]
    fn validate_the_cheapest_of_four_by_four() {
        // a textbook's matrix: taking the cheapest cell again and again ends at 6
        let costs = all_allowed(&[&[4, 1, 3, 2], &[2, 0, 5, 3], &[3, 2, 2, 1], &[4, 3, 1, 2]]);
        let found = assign(&costs);
        assert_eq!(sum(&costs, &found), 5);
        assert_eq!(found, [Some(1), Some(0), Some(3), Some(2)]);
        let mut greedy = 0;
        let (mut rows, mut columns) = (vec![0, 1, 2, 3], vec![0, 1, 2, 3]);
        while !rows.is_empty() {
            let cells = rows
                .iter()
                .flat_map(|&r| columns.iter().map(move |&c| (r, c)));
            let (r, c) = cells.min_by_key(|&(r, c)| costs[r][c]).unwrap();
            greedy += costs[r][c].unwrap();
            rows.retain(|&row| row != r);
            columns.retain(|&column| column != c);
        }
        assert_eq!(greedy, 6);
    }

    #[test]
    fn rows_without_a_pair_go_without() {
        assert_eq!(assign(&[]), []);
        assert_eq!(assign(&[vec![], vec![None]]), [None, None]);
        assert_eq!(assign(&[vec![Some(3)], vec![Some(2)]]), [None, Some(0)]);
        assert_eq!(
            assign(&[vec![Some(1), Some(9)], vec![Some(1), None]]),
            [Some(1), Some(0)]
        );
    }

    fn matrices() -> impl Strategy<Value = Vec<Vec<Option<Cost>>>> {
        (1..8_usize, 1..8_usize).prop_flat_map(|(rows, columns)| {
            // few values, so that ties are common; one pair in four is forbidden
            let cell = prop_oneof![1 => Just(None), 3 => (0..12_i128).prop_map(Some)];
            prop::collection::vec(prop::collection::vec(cell, columns), rows)
        })
    }

    proptest! {
        #[test]
        fn property_no_assignment_is_cheaper_than_the_one_found(costs in matrices()) {
            let found = assign(&costs);
            let mut columns: Vec<usize> = found.iter().flatten().copied().collect();
            let served = columns.len();
            columns.sort_unstable();
            columns.dedup();
            prop_assert_eq!(columns.len(), served, "a column twice");
            for (row, column) in found.iter().enumerate() {
                if let Some(column) = *column {
                    prop_assert!(costs[row][column].is_some());
                }
            }
            let (most, least) = by_trying(&costs, 0, &mut Vec::new());
            prop_assert_eq!((served, sum(&costs, &found)), (most, least));
        }
    }
}
