use super::Network;

impl Network {
    /// What limits a flow alone in a draw, as site paths; empty where that is not known.
    pub(crate) fn limit_alone(&self, flow: usize, draw: usize) -> String {
        let ids = self.flows.get(flow).and_then(|flow| {
            let set = *flow.limit.get(draw)? as usize;
            flow.sets.get(set)
        });
        ids.map_or_else(String::new, |ids| ids.join(" with "))
    }
}
