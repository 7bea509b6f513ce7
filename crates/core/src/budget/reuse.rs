//! A path that differs in a part or two from one that was built already: what the edit does not touch is
//! taken over, hop by hop, so that only the hops that it touches are worked out again.

use super::hop::{Chain, Hop};
use super::part::Part;
use super::{BudgetFault, Context};
use crate::route::RouteLink;
use crate::site::Site;

/// A path of the same question at the same draws, at the site before an edit.
#[derive(Clone, Copy)]
pub(crate) struct Before<'a> {
    pub site: &'a Site,
    pub chain: &'a Chain,
}

impl<'a> Context<'a, '_> {
    /// Whether a part of the site is as it was before; never where there is no before, nor where one
    /// long copy is followed, which keeps more than hops.
    pub(super) fn same<T: PartialEq>(&self, part: impl Fn(&'a Site) -> T) -> bool {
        let before = self.before.filter(|_| !self.asks_for_a_size());
        before.is_some_and(|before| part(before.site) == part(self.site))
    }

    /// Makes hops, or takes them over from before where all that they depend on is the same.
    pub(super) fn unless_same(
        &mut self,
        same: bool,
        ids: &[String],
        make: impl FnOnce(&mut Self) -> Result<Part, BudgetFault>,
    ) -> Result<Part, BudgetFault> {
        let Some(before) = self.before.filter(|_| same) else {
            return make(self);
        };
        let hops = before.chain.hops.iter();
        Ok(Part {
            hops: hops.filter(|h| ids.contains(&h.id)).cloned().collect(),
            ..Part::default()
        })
    }

    /// A hop of before, where it is the same.
    pub(super) fn taken_over(&self, same: bool, id: &str) -> Option<&'a Hop> {
        let before = self.before.filter(|_| same)?;
        before.chain.hops.iter().find(|h| h.id == id)
    }

    /// Forks with a label that were not made anew.
    pub(super) fn take_over_forks(&self, label: &str, path: &mut Part) {
        let made = |forks: &[super::hop::Fork]| {
            forks
                .iter()
                .any(|f| f.labels.iter().any(|known| known == label))
        };
        if let Some(before) = self.before
            && !made(&path.forks)
        {
            let kept = before.chain.forks.iter();
            let kept = kept.filter(|f| f.labels.iter().any(|known| known == label));
            path.forks.extend(kept.cloned());
        }
    }

    /// Whether frames on a route are as before: MTU, tags, and the round trip that losses are paid by.
    pub(super) fn same_frames(&self, links: &[RouteLink]) -> bool {
        self.same(|site| {
            let ends = links.iter().flat_map(|l| [&l.near, &l.far]);
            let sizes: Vec<_> = ends.map(|end| site.port(end).map(|p| p.mtu)).collect();
            (&site.network, sizes)
        })
    }

    /// Whether a link is as before.
    pub(super) fn same_link(&self, link: &RouteLink) -> bool {
        // a radio link tells the draws in which there is none, which no hop keeps
        let run = self.site.runs.get(link.run);
        if run.is_some_and(|run| run.medium.is_worked_out()) {
            return false;
        }
        self.same(|site| {
            let ends = [&link.near, &link.far].map(|end| site.port(end));
            (site.runs.get(link.run), ends)
        })
    }
}
