use super::commands::Command;
use super::table::{Head, table};
use super::{Report, Section, said};
use crate::number::Number;
use crate::text::{listed, named, plain};
use maud::{Markup, html};
use narrows_core::plan::purchases::{Help, Offer, Purchase};
use narrows_core::quantity::units::ratio::one;

/// What to buy first, and what does nothing.
pub(super) fn section(report: &Report<'_>) -> Option<Section> {
    let bought = report.purchases.as_ref()?;
    let (answer, offers) = &bought.answer;
    let heads = [
        Head::Words("buy"),
        Head::Numbers("price"),
        Head::Numbers("waits a day, min"),
        Head::Numbers("saves, min"),
        Head::Numbers("helps %"),
    ];
    let today = (&answer.today, "buy/today".to_owned());
    let rows: Vec<Vec<Markup>> = std::iter::once(today)
        .chain(
            answer
                .purchases
                .iter()
                .enumerate()
                .map(|(i, p)| (p, format!("buy/purchases/{i}"))),
        )
        .map(|(purchase, key)| row(purchase, offers, &key))
        .collect();
    let by_help = |wanted: fn(&Help) -> bool| -> Vec<&str> {
        let pairs = offers.iter().zip(&answer.helps);
        pairs
            .filter(|(_, help)| wanted(help))
            .map(|(offer, _)| offer.name())
            .collect()
    };
    let only_with = by_help(|help| matches!(help, Help::With(_)));
    let nothing = by_help(|help| matches!(help, Help::Nothing(_)));
    let body = html! {
        (said(&bought.lines))
        @if !answer.purchases.is_empty() { (table("What nothing cheaper equals, with what is there today", &heads, &rows)) }
        p.quiet { "Waits: minutes a day that all desks together wait for data, the mean. Prices are those of the file. "
            @if answer.assumed.is_some() { "Nobody said how much each desk moves: each is taken to read 100 GB and write 100 GB a day." } }
        @if !only_with.is_empty() { p { "Helps only together with another: " (plain(&listed(&only_with))) "." } }
        @if !nothing.is_empty() { p { "Does nothing that anybody would notice: " (plain(&listed(&nothing))) "." } }
        p.quiet { "Before drives are added or moved, have a second copy elsewhere. Mains and cables in walls are for licensed people." }
    };
    Some(Section::new(
        "buy",
        "What to buy first",
        vec![Command::buy(report)],
        body,
    ))
}

fn row(purchase: &Purchase, offers: &[Offer], key: &str) -> Vec<Markup> {
    let names: Vec<&str> = purchase
        .offers
        .iter()
        .filter_map(|i| offers.get(*i))
        .map(Offer::name)
        .collect();
    let nothing = names.is_empty();
    vec![
        html! { @if nothing { "nothing, as today" } @else { (named(&names.join("; "))) } },
        html! { (Number::new(purchase.price.to_string(), format!("{key}/price"))) },
        html! { (Number::minutes(purchase.waits.mean, format!("{key}/waits_s/mean"))) },
        html! { @if !nothing { (Number::minutes(purchase.saves.mean, format!("{key}/saves_s/mean"))) } },
        html! { @if !nothing { (Number::percent(purchase.helps.get::<one>(), format!("{key}/helps_probability"))) } },
    ]
}
