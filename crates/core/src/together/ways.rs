use super::Network;

impl Network {
    /// What limits a flow alone in a draw, as site paths; a link that does not come up has none.
    pub(crate) fn limit_alone(&self, flow: usize, draw: usize) -> String {
        let ids = self.flows.get(flow).and_then(|flow| {
            let set = *flow.limit.get(draw)? as usize;
            flow.sets.get(set)
        });
        match ids {
            Some(ids) if !ids.is_empty() => ids.join(" with "),
            _ => "a way that carries nothing".to_owned(),
        }
    }
}
