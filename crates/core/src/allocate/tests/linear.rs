//! Filling against max-min rates found another way: linear programs, one level after the other, by a
//! general solver that knows nothing of filling.

use super::*;
use microlp::{ComparisonOp, LinearExpr, OptimizationDirection, Variable};

/// The solver's own tolerance, and as many levels as there are flows.
const SOLVED: f64 = 1e-6;

/// A flow whose own maximum is no further above the level does not rise any more.
const STUCK: f64 = 1e-7;

/// Weighted max-min rates with demands, for resources without heads.
///
/// The largest level L at which every flow that still rises has at least w L; then those that cannot
/// have more than w L while the others keep theirs stay there; and so on. Source: the definition, as in
/// Bertsekas and Gallager, section 6.5.2.
fn by_linear_programs(problem: &Problem) -> Vec<f64> {
    let n = problem.flows.len();
    let mut fixed: Vec<Option<f64>> = vec![None; n];
    while fixed.iter().any(Option::is_none) {
        let level = solve(problem, &fixed, None, 0.0);
        for flow in 0..n {
            if fixed[flow].is_some() {
                continue;
            }
            let weight = problem.flows[flow].weight;
            let most = solve(problem, &fixed, Some(flow), level);
            if most <= level * weight * (1.0 + STUCK) + STUCK {
                fixed[flow] = Some(level * weight);
            }
        }
    }
    fixed
        .into_iter()
        .map(|rate| rate.unwrap_or(f64::NAN))
        .collect()
}

/// Without a flow: the largest level of all that rise. With one: its largest rate while the others have at
/// least that level. Rates are in megabytes a second, which the solver likes better than bytes.
fn solve(problem: &Problem, fixed: &[Option<f64>], flow: Option<usize>, level: f64) -> f64 {
    let mut program = microlp::Problem::new(OptimizationDirection::Maximize);
    let top = program.add_var(f64::from(u8::from(flow.is_none())), (0.0, 1e6));
    let rates: Vec<Variable> = problem
        .flows
        .iter()
        .enumerate()
        .map(|(i, demand)| {
            let most = demand.most.map_or(1e6, in_megabytes_per_second);
            let bounds = match fixed[i] {
                // the solver stays a little inside its bounds
                Some(rate) => (rate * (1.0 - 1e-9), rate),
                None if flow.is_some() => ((level * demand.weight).min(most) * (1.0 - 1e-9), most),
                None => (0.0, most),
            };
            program.add_var(f64::from(u8::from(flow == Some(i))), bounds)
        })
        .collect();
    for resource in 0..problem.resources.len() {
        let mut busy = LinearExpr::empty();
        for visit in problem.visits.iter().filter(|v| v.resource == resource) {
            // seconds a megabyte
            busy.add(rates[visit.flow], visit.cost.base() * 1e6);
        }
        program.add_constraint(busy, ComparisonOp::Le, 1.0);
    }
    if flow.is_none() {
        for (i, demand) in problem.flows.iter().enumerate() {
            if fixed[i].is_none() {
                let mut above = LinearExpr::empty();
                above.add(rates[i], 1.0);
                above.add(top, -demand.weight);
                program.add_constraint(above, ComparisonOp::Ge, 0.0);
            }
        }
    }
    let solution = program.solve().expect("rates of nothing are feasible");
    let solution = solution.into_solution().ok();
    let solution = solution.expect("bounded, so there is an optimum");
    flow.map_or_else(|| solution[top], |f| solution[rates[f]])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn property_filling_is_what_linear_programs_find(mut problem in network()) {
        for resource in &mut problem.resources {
            resource.move_heads = None;
        }
        // whoever passes nothing and asks for nothing has no bound
        for flow in &mut problem.flows {
            let most = flow.most.unwrap_or_else(|| megabytes_per_second(1000.0));
            flow.most = Some(most);
        }
        let expected = by_linear_programs(&problem);
        let found = fill(&problem).unwrap();
        for (found, expected) in found.rates.into_iter().zip(expected) {
            let found = in_megabytes_per_second(found);
            prop_assert!((found - expected).abs() <= SOLVED * expected + SOLVED, "{} {}", found, expected);
        }
    }
}

#[test]
fn verify_the_linear_programs_find_a_published_case() {
    // the four links and five flows of `validate_four_links_five_flows`
    let mut problem = Problem {
        resources: vec![Resource::default(); 4],
        ..Problem::default()
    };
    for (flow, path) in [&[0usize, 2][..], &[1], &[1], &[3], &[1, 2]]
        .iter()
        .enumerate()
    {
        problem.flows.push(Demand {
            weight: 1.0,
            most: None,
        });
        for &resource in *path {
            problem.visits.push(Visit {
                flow,
                resource,
                cost: cost(1.0),
                turn: None,
            });
        }
    }
    let third = 1.0 / 3.0;
    for (found, expected) in
        by_linear_programs(&problem)
            .into_iter()
            .zip([2.0 * third, third, third, 1.0, third])
    {
        assert!((found - expected).abs() < SOLVED, "{found} {expected}");
    }
}

/// Many flows on a few drives with heads: the closed form of the level against bisection of the busy
/// time itself.
#[test]
fn verify_heads_fill_their_second_exactly() {
    for flows in [2, 3, 7, 40] {
        let mut problem = Problem {
            resources: vec![Resource {
                move_heads: Some(milliseconds(11.0)),
            }],
            ..Problem::default()
        };
        for flow in 0..flows {
            problem.flows.push(Demand {
                weight: 1.0 + flow as f64 % 3.0,
                most: (flow % 4 == 1).then(|| megabytes_per_second(0.5 + flow as f64)),
            });
            problem.visits.push(Visit {
                flow,
                resource: 0,
                cost: cost(150.0 + flow as f64),
                turn: Some(megabytes(0.2 + flow as f64 % 5.0)),
            });
        }
        let rates = fill(&problem).unwrap().rates;
        let rising = |i: usize| problem.flows[i].most.is_none_or(|m| rates[i] < m);
        assert!((0..flows).any(rising));
        let full = busy(&problem, &rates, 0);
        assert!((full - 1.0).abs() < ALGEBRA, "{flows}: {full}");
    }
}
