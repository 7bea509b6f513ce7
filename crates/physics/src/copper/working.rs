//! How the margin of a rate over a run comes about, step by step.

use super::likelihood::Moved;
use super::salz::{Band, Crowd};
use super::{
    Copper, DecibelMilliwattsPerHertz, Decibels, RunFault, RunPhysics, Standing, in_megahertz,
    power_sum,
};
use narrows_units::quantity::{LinkRate, units};
use narrows_units::working::Step;

/// Steps in the order in which they were written, inputs before what is made of them.
#[derive(Default)]
struct Steps(Vec<Step>);

impl Steps {
    fn add(
        &mut self,
        name: &str,
        formula: &str,
        source: &str,
        result: String,
        inputs: &[(&str, usize)],
    ) -> usize {
        self.0.push(Step {
            name: name.to_owned(),
            formula: formula.to_owned(),
            inputs: inputs.iter().map(|(s, i)| ((*s).to_owned(), *i)).collect(),
            source: source.to_owned(),
            result,
            id: None,
        });
        self.0.len() - 1
    }

    fn given(&mut self, name: &str, source: &str, result: String) -> usize {
        self.add(name, "", source, result, &[])
    }
}

fn plain(decibels: f64) -> String {
    format!("{decibels:.1} dB")
}

impl Copper {
    /// The steps behind the chance that a rate holds over a run by itself; the last one is the
    /// chance. Empty where no margin is computed.
    ///
    /// Symbols: `S` signal and `N` noise a hertz at the receiver, `f` frequency up to the Nyquist
    /// frequency `fN`. Checked by `verify_working_leads_to_the_verdict`.
    ///
    /// # Errors
    /// As [`Copper::carries`].
    pub fn working(&self, run: &RunPhysics, rate: LinkRate) -> Result<Vec<Step>, RunFault> {
        run.check()?;
        let phy = self.phys.of(rate).ok_or(RunFault::Rate(rate))?;
        if self.standing(run, phy) != Standing::Modelled {
            return Ok(Vec::new());
        }
        let channel = self
            .cables
            .channel(run)
            .ok_or(RunFault::Category(run.category))?;
        let mut steps = Steps::default();
        let ratio = self.ratio_step(run, rate, &mut steps)?;
        let (_, at_limits, _) = self.limits(run, &channel, phy, super::carries::FINE)?;
        let needed = steps.given(
            "ratio that the line code needs",
            &format!("phy.{}.required", rate.megabits()),
            plain(phy.required),
        );
        let own = steps.given(
            "loss of a real receiver",
            &format!("phy.{}.implementation", rate.megabits()),
            plain(phy.implementation),
        );
        let limits = steps.add(
            "margin of a run at the limits of its make",
            "R - r - i",
            "copper.*, phy.*",
            Decibels(at_limits).to_string(),
            &[("R", ratio), ("r", needed), ("i", own)],
        );
        let mut moved: Vec<Moved> = Vec::new();
        let law = self.law(run, &channel, phy, &mut |one| moved.push(one))?;
        let better = steps.given(
            "installed runs against limits, curvature, worst of four pairs",
            "copper.installed.*, copper.worst-pair: judgement",
            Decibels(law.mean - at_limits).to_string(),
        );
        let mean = steps.add(
            "middle of the margin of sound work",
            "m + b",
            "second-order delta method",
            Decibels(law.mean).to_string(),
            &[("m", limits), ("b", better)],
        );
        moved.sort_by(|a, b| b.decibels.total_cmp(&a.decibels));
        let unknowns: Vec<(String, usize)> = moved
            .iter()
            .filter(|one| one.decibels >= 0.05)
            .enumerate()
            .map(|(i, one)| {
                let name = format!("one sigma of {}", one.what);
                let given = steps.given(
                    &name,
                    "judgement",
                    format!("{:.1} dB, for {:.2}", one.decibels, one.sigma),
                );
                (format!("d{}", i + 1), given)
            })
            .collect();
        let inputs: Vec<(&str, usize)> = unknowns.iter().map(|(s, i)| (s.as_str(), *i)).collect();
        let sigma = steps.add(
            "scatter of the margin",
            "sqrt(d1^2 + d2^2 + ...)",
            "each moved alone, all independent: copper.installed.*, copper.unknown.*, phy.*",
            plain(law.sigma),
            &inputs,
        );
        let reserve = steps.given(
            "what is kept in reserve",
            "copper.reserve: judgement",
            plain(self.reserve().0),
        );
        let share = steps.given(
            "share of runs with faulty work",
            "copper.workmanship.share: judgement; none where certified",
            format!("{:.0} %", 100.0 * law.fault_share),
        );
        let fault = steps.given(
            "what faulty work takes",
            "copper.workmanship.loss: judgement",
            format!(
                "{:.1} dB, one sigma {:.1} dB",
                law.fault.mean, law.fault.sigma
            ),
        );
        steps.add(
            "chance of holding, by this rate alone",
            "(1 - w) F((M - k) / s) + w F((M - k - v) / sqrt(s^2 + sv^2))",
            "F the share of a normal law",
            format!("{:.0} %", 100.0 * law.chance(self.reserve().0)),
            &[
                ("M", mean),
                ("s", sigma),
                ("k", reserve),
                ("w", share),
                ("v", fault),
            ],
        );
        Ok(steps.0)
    }

    /// The signal to noise ratio, with signal and noises in the middle of the band.
    fn ratio_step(
        &self,
        run: &RunPhysics,
        rate: LinkRate,
        steps: &mut Steps,
    ) -> Result<usize, RunFault> {
        let phy = self.phys.of(rate).ok_or(RunFault::Rate(rate))?;
        let channel = self
            .cables
            .channel(run)
            .ok_or(RunFault::Category(run.category))?;
        let (ratio, _, _) = self.limits(run, &channel, phy, super::carries::FINE)?;
        let middle = super::megahertz(0.5 * phy.nyquist());
        let at = in_megahertz(middle);
        let sent = self
            .spectrum(rate, middle)
            .unwrap_or(DecibelMilliwattsPerHertz(f64::NAN));
        let parts = self.at(run, middle)?;
        let sent_step = steps.given(
            &format!("what is sent at {at:.0} MHz"),
            &format!("phy.{}.power, shaped by the symbol", rate.megabits()),
            sent.to_string(),
        );
        let loss = steps.given(
            &format!(
                "insertion loss of {} m and {} connections at {at:.0} MHz and {}",
                run.length.get::<units::length::meter>(),
                run.connections,
                run.temperature
            ),
            "ANSI/TIA-568.2-D, ISO/IEC 11801: copper.*.loss.*",
            plain(parts.insertion_loss.0),
        );
        let signal = steps.add(
            "signal received",
            "P - L",
            "",
            (sent - parts.insertion_loss).to_string(),
            &[("P", sent_step), ("L", loss)],
        );
        let crowd = Crowd::new(&self.cables, &self.phys, phy, run)?;
        let levels = Band::new(&channel, phy, &crowd, 1).levels();
        let hertz = narrows_units::quantity::Frequency::new::<units::frequency::hertz>(1.0);
        let noise = power_sum(levels.iter().map(|(.., level)| level.over(hertz)));
        let noise = DecibelMilliwattsPerHertz(noise.map_or(f64::NEG_INFINITY, |sum| sum.0));
        let inputs: Vec<(&str, usize)> = levels
            .iter()
            .map(|(symbol, name, source, level)| {
                (*symbol, steps.given(name, source, level.to_string()))
            })
            .collect();
        let noise = steps.add(
            &format!("noise received at {at:.0} MHz"),
            "sum of powers",
            "noises are independent",
            noise.to_string(),
            &inputs,
        );
        Ok(steps.add(
            "signal to noise ratio behind an ideal equaliser",
            "exp(1/fN integral of ln(1 + S/N) df) - 1",
            "Salz, Bell System Technical Journal 52 (1973), 1341-1373",
            plain(ratio),
            &[("S", signal), ("N", noise)],
        ))
    }
}
