/* The phone's door: a page that takes pictures and nothing else, on the local network, found by an address that opens once.
 * What it gets in exchange is a key of its own; the bench can hand out another address at any time. */
#include "page/inside.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>

#include <qrencode.h>

/* The first address of this machine on a network, IPv4, that others could reach; empty when there is none. */
Text phone_network_address(Arena *arena) {
    struct ifaddrs *all;
    char said[INET_ADDRSTRLEN];
    Text found = TEXT("");
    if (getifaddrs(&all) != 0) return found;
    for (const struct ifaddrs *at = all; at != NULL && found.len == 0; at = at->ifa_next) {
        if (at->ifa_addr == NULL || at->ifa_addr->sa_family != AF_INET || (at->ifa_flags & IFF_LOOPBACK) != 0 ||
            (at->ifa_flags & IFF_UP) == 0)
            continue;
        const struct sockaddr_in *in = (const struct sockaddr_in *)(const void *)at->ifa_addr;
        if (inet_ntop(AF_INET, &in->sin_addr, said, sizeof said) != NULL) found = text_copy(arena, text_of(said));
    }
    freeifaddrs(all);
    return found;
}

bool phone_exchange(Page *page, Text key) {
    pthread_mutex_lock(&page->lock);
    bool first = key_is(&page->phone_once, key);
    if (first) page->phone_once = (PageKey){0};
    pthread_mutex_unlock(&page->lock);
    return first;
}

/* A code as one path of squares, a unit each, with the quiet zone of four that ISO/IEC 18004 asks for (from memory). */
static void put_code(Out *out, const char *text) {
    enum { QUIET = 4 };
    QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
    if (code == NULL) return;
    int side = code->width + 2 * QUIET;
    out_fmt(out,
            "<svg class=\"code\" viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"The address as a code for the phone\">"
            "<rect width=\"%d\" height=\"%d\" fill=\"#fff\"/><path fill=\"#000\" d=\"",
            side, side, side, side);
    for (int y = 0; y < code->width; y++)
        for (int x = 0; x < code->width; x++)
            if (code->data[y * code->width + x] & 1) out_fmt(out, "M%d %dh1v1h-1z", x + QUIET, y + QUIET);
    out_lit(out, "\"/></svg>\n");
    QRcode_free(code);
}

static void say_address(Call *call) {
    Text address = page_phone_address(call->arena, call->page);
    if (address.len == 0) {
        out_lit(&call->out,
                "<p>No phone can be joined: start it as <code>unpick page DIR --phone</code>, on a network that the "
                "phone is in too.</p>\n");
        return;
    }
    put_code(&call->out, text_cstring(call->arena, address));
    markup(&call->out,
           "<p>Point the phone at the code, or type <code>$</code></p>\n<p>The address opens once. It goes over the local "
           "network unencrypted; the phone can add photos and nothing else.</p>\n",
           address);
}

/* A new address in place of the last one, used or not. */
void answer_invite(Call *call) {
    PageKey once;
    if (key_make(&once)) {
        pthread_mutex_lock(&call->page->lock);
        call->page->phone_once = once;
        pthread_mutex_unlock(&call->page->lock);
    }
    say_address(call);
}

void answer_phone(Call *call) {
    Text shell = shell_until(&call->out, shell_styled(&call->out, asset("web/phone.html")), "<!--boards-->");
    const PageModel *model = call->model;
    for (uint32_t i = 0; model != NULL && model->open && i < model->teardown.bench->boards.count; i++) {
        Text name = model->teardown.bench->boards.at[i];
        markup(&call->out,
               "<option value=\"$ top\">Board $, top</option><option value=\"$ bottom\">Board $, bottom</option>", name,
               name, name, name);
    }
    out_add(&call->out, shell);
}
