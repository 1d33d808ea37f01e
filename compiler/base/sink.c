#include "base/sink.h"

bool sink_str(Sink sink, Str text) {
    return !text.len || sink.write(sink.context, text.ptr, text.len);
}

static bool write_to_buf(void *context, const char *bytes, size_t n) {
    buf_str(context, (Str){bytes, n});
    return true;
}

Sink sink_to_buf(Buf *buf) {
    return (Sink){buf, write_to_buf};
}
